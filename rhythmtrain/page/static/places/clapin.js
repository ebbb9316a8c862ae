// Clapping a rhythm in: on keys here and now, or from a recording; the program writes it down.

import { bring, post } from "../ask.js";
import { isClap } from "../listening/keys.js";
import { KINDS } from "../listening/listening.js";
import { METRES } from "../wishes/metres.js";
import { choices, labelled, make, trying } from "../parts.js";

const BEATS = [["", "as usual in the metre"], ["eighth", "an eighth"], ["quarter", "a quarter"], ["dotted quarter", "a dotted quarter"], ["half", "a half"], ["group", "a group of the metre"]];

// `recording` is one that was brought before and is to be written down.
export function clapIn(ondone, recording = null) {
  let metre = "4/4";
  let taps = null;
  const tempo = make("input", { type: "number", min: 20, max: 300, placeholder: "about" });
  const said = make("pre", { class: "quiet", role: "status" });
  const pad = make("button", { class: "pad", hidden: true, type: "button" }, "Clap the rhythm: any key, or touch. Escape when it is done.");
  const begin = make("button", { type: "button", onclick: () => (taps ? done() : start()) }, "Clap one in");
  const file = make("input", { type: "file", accept: "audio/*,video/*,.mid,.midi" });
  const times = make("input", { type: "number", class: "figure", min: 1, max: 20, step: 1, placeholder: "found" });
  const number = (field) => (field.value ? Number(field.value) : null);
  const finer = { metres: "", first: "", beat: "", kind: "claps" };
  const known = () => ({ metre: finer.metres || metre, tempo: number(tempo), times: number(times), first: finer.first, beat: finer.beat, kind: finer.kind });

  function key(event) {
    if (!taps) return;
    if (event.key === "Escape") done();
    else if (!event.repeat && isClap(event)) {
      event.preventDefault();
      taps.push(event.timeStamp / 1000);
    }
  }

  function start() {
    taps = [];
    pad.hidden = false;
    pad.focus();
    begin.textContent = "It is done";
    said.textContent = "Clap it once, or several times with two bars of silence between.";
    window.addEventListener("keydown", key, true);
  }

  function stop() {
    window.removeEventListener("keydown", key, true);
    pad.hidden = true;
    begin.textContent = "Clap one in";
    const clapped = taps;
    taps = null;
    return clapped;
  }

  function show(told) {
    said.textContent = told.said;
    ondone(told);
  }

  const done = trying(async () => {
    const clapped = stop();
    said.textContent = "";
    show(await post("/api/passage/clapped", { taps: clapped, ...known() }));
  });

  pad.addEventListener("pointerdown", (event) => { if (taps) taps.push(event.timeStamp / 1000); });
  file.addEventListener("change", trying(async () => {
    if (!file.files.length) return;
    said.textContent = "Listening …";
    show(await bring("/api/passage/heard", { file: file.files[0].name, ...known() }, await file.files[0].arrayBuffer()));
  }));
  const down = trying(async () => {
    said.textContent = "Listening …";
    show(await post("/api/passage/heard", { recording, ...known() }));
  });
  const brought = recording ? make("button", { type: "button", class: "main", onclick: down }, "Write your recording down") : "";
  const place = make("fieldset", {}, make("legend", {}, "Or clap it"),
    make("div", { class: "row" },
      labelled("metre", choices(METRES, metre, (value) => { metre = value; })),
      labelled("beats a minute", tempo), labelled("it comes", times, "times"), brought, begin, labelled("or bring a recording of it", file)),
    rarely(finer), pad, said);
  return { place, close: stop };
}

// What few people have to say: metres that change, an upbeat, what gets a count, what a recording holds.
function rarely(finer) {
  const text = (key, placeholder, size) => make("input", { type: "text", placeholder, size, autocomplete: "off", onchange: (event) => { finer[key] = event.target.value.trim(); } });
  return make("details", {}, make("summary", {}, "More: changing metres, an upbeat"),
    make("div", { class: "row" },
      labelled("Metres bar by bar", text("metres", "2/4 2/4 3/4", 14), make("span", { class: "quiet" }, "the last goes on")),
      labelled("The first clap is on", text("first", "1", 4), make("span", { class: "quiet" }, "such as 4&")),
      labelled("One count is", choices(BEATS, finer.beat, (value) => { finer.beat = value; })),
      labelled("A recording holds", choices(KINDS, finer.kind, (value) => { finer.kind = value; }))));
}
