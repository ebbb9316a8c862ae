// One pack of several passages, or one sheet, to hand out: chosen in the order in which they are practised.

import { post } from "../ask.js";
import { choices, labelled, make, tick, trying } from "../parts.js";

const KINDS = [["mp3", "MP3, for any phone"], ["ogg", "OGG"], ["flac", "FLAC"], ["wav", "WAV"]];
const PAPERS = [["pdf", "a PDF, to print"], ["html", "a page"], ["png", "pictures (PNG)"], ["svg", "drawings (SVG)"]];
const SOUNDS = [["", "clapped rhythm, click, count"], ["tune,click,count", "tune, click, count"], ["accompaniment,click,count", "recorded accompaniment, click, count"]];

export function packing({ own, supplied }) {
  const passages = [...own, ...supplied];
  const wish = { chosen: [], count_rests: false, sheet: "pdf", slowest: 0.5, rungs: null, ending: "mp3", layers: "", entry: false };
  const row = make("ol", { "aria-live": "polite", "aria-label": "In the pack" });
  const said = make("div", { role: "status" });
  const button = make("button", { class: "main", disabled: true, onclick: trying(() => begin()) }, "Make the pack");
  const paper = make("button", { disabled: true, onclick: trying(() => onSheet()) }, "One sheet to print");
  const allow = (yes) => { for (const each of [button, paper]) each.disabled = !yes; };
  const choose = (each) => (on) => {
    wish.chosen = on ? [...wish.chosen, each] : wish.chosen.filter((other) => other !== each);
    row.replaceChildren(...wish.chosen.map((one) => make("li", {}, one.title)));
    allow(wish.chosen.length);
  };

  const begin = () => {
    const { chosen, sheet, ...how } = { ...wish, layers: wish.entry ? "" : wish.layers };
    return made("/api/pack", how, "Take the pack away (zip)", "Unpack it, and open index.html on any phone or computer.");
  };
  const onSheet = () => made("/api/sheet", { ending: wish.sheet, count_rests: wish.count_rests }, "Take the sheet away", "The counts stand under every note and rest.");

  async function made(way, how, words, what) {
    allow(false);
    said.replaceChildren(make("p", {}, "Making it: some seconds for each passage …"));
    try {
      show(await post(way, { passages: wish.chosen.map((each) => each.name), ...how }), words, what);
    } catch (error) {
      said.replaceChildren(make("p", { class: "trouble" }, error.message));
    } finally {
      allow(wish.chosen.length);
    }
  }

  function show(told, words, what) {
    const file = make("a", { class: "go", href: `/api/pack/${told.pack}`, download: "" }, words);
    said.replaceChildren(
      make("p", {}, `It holds ${told.titles.join(", ")}. ${what}`),
      ...told.failed.map((line) => make("p", { class: "trouble" }, `Left out: ${line}`)),
      ...told.said.map((line) => make("p", { class: "quiet" }, line)),
      make("p", {}, file));
    file.focus();
  }

  return make("div", {},
    make("p", {}, "What a teacher hands out: tracks from slow to the written tempo, a sheet, and one page that plays them. The passages come in the order in which you tick them."),
    make("ul", { class: "list ticks" }, passages.map((each) => make("li", {}, tick(make("span", {}, make("b", {}, each.title), make("span", { class: "quiet" }, ` ${each.about}`)), false, choose(each))))),
    row, finer(wish), make("div", { class: "row" }, button, paper), said);
}

function finer(wish) {
  const rungs = make("input", { type: "number", class: "figure", min: 1, max: 20, step: 1, placeholder: "8", oninput: () => { wish.rungs = rungs.value ? Number(rungs.value) : null; } });
  const slowest = make("input", { type: "number", class: "figure", min: 10, max: 100, step: 1, value: 50, oninput: () => { wish.slowest = (Number(slowest.value) || 50) / 100; } });
  const sounds = labelled("What sounds", choices(SOUNDS, wish.layers, (value) => { wish.layers = value; }));
  const course = tick("only the entry of each: come in after the rest, with less and less help", wish.entry, (on) => { wish.entry = on; sounds.hidden = on; });
  return make("details", {}, make("summary", {}, "Finer: tempi, sound, sheet"), make("div", { class: "row" },
    labelled("The slowest is", slowest, "% of the written tempo"), labelled("Tempi at most", rungs),
    labelled("Kind of file", choices(KINDS, wish.ending, (value) => { wish.ending = value; })), sounds, course,
    labelled("One sheet is", choices(PAPERS, wish.sheet, (value) => { wish.sheet = value; })),
    tick("a sheet with the count of long rests written out", wish.count_rests, (on) => { wish.count_rests = on; })));
}
