// What the accompanist plays before an entry: said, heard over and over, taken away as a sound.

import { bring, get } from "../ask.js";
import { choices, labelled, make, trying } from "../parts.js";
import { fromChosen } from "../sound/player.js";

const BARS = [[2, "two bars before"], [1, "one bar before"]];
const LINES = [["top", "the top line"], ["lower", "the bass"], ["all", "both hands"]];
const USUAL = { bars_before: 2, voice: "top", repeats: 4 };
const MOST_TIMES = 20;
const ABOUT = "With the accompanist’s notes (MusicXML or MIDI) it is known what is played before every entry. They are kept with this passage, as your own.";

// `wish` tells the passage, the entry's bar and how fast; nothing sounds any more once `close` is called.
// `onown` is told what the passage is called once it has notes of its own.
export class Cue {
  constructor(wish, onown) {
    this.wish = wish;
    this.onown = onown;
    this.how = { ...USUAL };
    this.told = make("div", { role: "status" });
    this.place = make("div", {}, make("div", { class: "row" }, make("button", { onclick: () => this.tell() }, "What is played before it")), this.told, this.finer());
  }

  close() {
    if (this.sound) this.sound.pause();
    this.told.replaceChildren();
  }

  set(key) {
    return (value) => { this.how[key] = Number(value) || value; this.close(); };
  }

  finer() {
    const times = make("input", { type: "number", class: "figure", min: 1, max: MOST_TIMES, step: 1, value: USUAL.repeats, onchange: () => this.set("repeats")(Number(times.value) || USUAL.repeats) });
    const notes = make("input", { type: "file", accept: ".musicxml,.mxl,.xml,.mid,.midi" });
    notes.addEventListener("change", () => this.bring(notes));
    return make("details", { class: "take" }, make("summary", {}, "What is played before it: how much, whose notes"),
      make("div", { class: "row" },
        labelled("Listen to", choices(BARS, USUAL.bars_before, this.set("bars_before"))),
        labelled("of their notes", choices(LINES, USUAL.voice, this.set("voice"))),
        labelled("The sound comes", times, "times")),
      make("p", {}, ABOUT), labelled("their notes", notes));
  }

  bring = trying(async (field) => {
    const [file] = field.files;
    field.value = "";
    if (!file) return;
    this.close();
    this.onown(await bring("/api/passage/notes", { passage: this.wish().passage, file: file.name }, await file.arrayBuffer()));
  });

  tell = trying(async () => {
    this.close();
    const { passage, bar, speed } = this.wish();
    const asked = { passage, bar, ...this.how };
    const told = await get("/api/cue", asked);
    const sounding = new URLSearchParams({ ...asked, speed });
    const file = (what, words) => make("li", {}, make("a", { href: `/api/cue/file/${what}?${sounding}`, download: "" }, words));
    this.sound = fromChosen(make("audio", { controls: true, src: `/api/cue/sound?${sounding}`, "aria-label": "What is played before the entry, over and over, with your entry clapped" }));
    this.told.replaceChildren(
      make("p", { class: "went" }, told.text.split("\n")[0]), this.sound, make("pre", { class: "told" }, told.text.split("\n").slice(1).join("\n")),
      ...told.said.map((line) => make("p", { class: "quiet" }, line)),
      make("ul", { class: "files" }, file("cue.mp3", "this sound (MP3)"), told.midi ? file("cue.mid", "this sound (MIDI)") : ""));
  });
}
