// Writing a rhythm: the text as it is kept, the notation drawn while one types, what is amiss marked
// in its place, and buttons that put note values and counts into the bar.

import { get, post } from "../ask.js";
import { clapIn } from "./clapin.js";
import { make, trying } from "../parts.js";
import { Sheet, wantedWidth } from "../stand/sheet.js";

const WAIT_MS = 250;
const NEW = `title = "My rhythm"
metre = "2/4"
tempo = 60
rhythm = """
1 & 2 & | 1 (2)
"""
`;
// What each button writes: the counts of one beat, from the beat's own number on.
const FIGURES = [
  ["a quarter", (n) => `${n}`], ["two eighths", (n) => `${n} &`], ["four sixteenths", (n) => `${n} e & a`],
  ["eighth, two sixteenths", (n) => `${n} & a`], ["two sixteenths, eighth", (n) => `${n} e &`],
  ["sixteenth, eighth, sixteenth", (n) => `${n} e a`], ["dotted eighth, sixteenth", (n) => `${n} a`],
  ["off the beat", (n) => `(${n}) &`], ["three in a beat", (n) => `${n} la li`],
  ["a beat of rest", (n) => `(${n})`], ["held on", (n) => `[${n}]`],
];

export async function writePlace(main, passage, more) {
  let name = null;
  let text = NEW;
  if (passage) {
    const told = await get("/api/passage/text", { passage }).catch(() => null);
    if (told) {
      text = told.text;
      name = told.own ? passage : null;
    }
  }
  const field = make("textarea", { rows: 12, spellcheck: false, id: "text", "aria-describedby": "amiss" });
  field.value = text;
  const amiss = make("p", { id: "amiss", role: "status" });
  const place = make("div", { role: "img", "aria-label": "The rhythm as notes" });
  const sheet = new Sheet(place);
  let waiting = null;
  let asked = 0;

  const draw = trying(async () => {
    const mine = (asked += 1);
    const told = await post("/api/passage/draw", { text: field.value, width: wantedWidth(place) });
    if (mine !== asked) return;
    if (told.trouble) {
      const { message, line, column } = told.trouble;
      amiss.className = "trouble";
      amiss.replaceChildren(line ? make("b", {}, `Line ${line}${column ? `, letter ${column}` : ""}: `) : "", message,
        line ? make("button", { class: "plain", onclick: () => show(line, column || 1) }, "show me") : "");
    } else {
      amiss.className = "quiet";
      amiss.textContent = "It reads well.";
      sheet.show(told);
    }
  });

  function show(line, column) {
    const rows = field.value.split("\n");
    const start = rows.slice(0, line - 1).reduce((sum, row) => sum + row.length + 1, 0) + column - 1;
    field.focus();
    field.setSelectionRange(start, start + 1);
  }

  function later() {
    clearTimeout(waiting);
    waiting = setTimeout(draw, WAIT_MS);
  }

  // The beat that comes next in the bar that is being written.
  function nextBeat() {
    const before = field.value.slice(0, field.selectionStart);
    const bar = before.slice(Math.max(before.lastIndexOf("|"), before.lastIndexOf('"""')) + 1);
    const numbers = bar.match(/\d+/g) || [];
    return numbers.length ? Number(numbers[numbers.length - 1]) + 1 : 1;
  }

  function put(words) {
    const [start, stop] = [field.selectionStart, field.selectionEnd];
    const before = field.value.slice(0, start);
    const gap = /\s$/.test(before) || !before ? "" : " ";
    field.setRangeText(`${gap}${words} `, start, stop, "end");
    field.focus();
    later();
  }

  field.addEventListener("input", later);
  const figures = make("div", { class: "row", role: "group", "aria-label": "Put a figure where the cursor stands" },
    FIGURES.map(([words, counts]) => make("button", { type: "button", onclick: () => put(counts(nextBeat())) }, words)),
    make("button", { type: "button", onclick: () => put("|") }, "bar line"));
  const keep = trying(async () => {
    const told = await post("/api/passage/write", { text: field.value, name });
    location.hash = `practise/${encodeURIComponent(told.name)}`;
  });
  const clapped = clapIn((told) => { field.value = told.text; name = null; later(); field.focus(); }, more.get("recording"));
  main.replaceChildren(
    make("h1", {}, "Write a rhythm"),
    make("p", { class: "quiet" }, "Write it as one counts it: what stands bare is played, ( ) is counted in silence, [ ] while the note before is held. “&” is the half of a beat, “e & a” its quarters, “la li” its thirds."),
    place, amiss, make("label", { for: "text" }, "The passage"), field, figures, clapped.place,
    make("div", { class: "row" }, make("button", { class: "main", onclick: keep }, "Keep it and practise")),
  );
  await draw();
  // The cursor stands where the rhythm ends, and is brought into view by the focus.
  const end = field.value.indexOf('"""', field.value.indexOf('"""') + 3);
  if (end > 0) field.setSelectionRange(end - 1, end - 1);
  field.focus();
  return () => { clearTimeout(waiting); clapped.close(); };
}
