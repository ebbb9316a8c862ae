// What is set once: the language of the count, note names, how large, and the sound delay of this machine.

import { get, post } from "./ask.js";
import { Clapping } from "./clapping.js";
import { choices, labelled, make, tick, trying } from "./parts.js";
import { Player, Track } from "./player.js";

const LANGUAGES = { en: "English", de: "German", fr: "French", es: "Spanish", nl: "Dutch" };
const SIZES = [["1", "usual"], ["1.25", "large"], ["1.5", "very large"]];
const SOURCES = [["keys", "the keyboard or the screen"], ["midi", "a MIDI pad or keyboard"]];

export function applySize() {
  document.documentElement.style.fontSize = `${Number(localStorage.getItem("size") || 1) * 100}%`;
  document.documentElement.classList.toggle("strong", localStorage.getItem("strong") === "yes");
}

export async function settingsPlace(main) {
  const place = new Settings(main);
  await place.open();
  return () => place.close();
}

class Settings {
  constructor(main) {
    this.main = main;
    this.source = "keys";
    this.player = new Player({ onend: (finished) => this.ended(finished) });
  }

  close() {
    if (this.clapping) this.clapping.abandon();
    this.player.stop();
  }

  async open() {
    this.told = await get("/api/settings");
    const set = (key) => trying(async (value) => { this.told = await post("/api/settings", { [key]: value }); });
    const kept = (key, value) => { localStorage.setItem(key, value); applySize(); };
    this.pad = make("button", { class: "pad", hidden: true, type: "button" }, "Tap here with every click: any key, or touch");
    this.begin = make("button", { onclick: () => (this.player.playing ? this.player.stop() : this.measure()) }, "Measure it");
    this.said = make("p", { role: "status" }, this.known());
    this.main.replaceChildren(
      make("h1", {}, "Settings"),
      make("fieldset", {}, make("legend", {}, "Words"),
        make("div", { class: "row" },
          labelled("Count in", choices(this.told.languages.map((each) => [each, LANGUAGES[each] || each]), this.told.language, set("language"))),
          tick("crotchets and quavers instead of quarters and eighths", this.told.british, set("british")))),
      make("fieldset", {}, make("legend", {}, "What you see"),
        make("div", { class: "row" },
          labelled("Letters and notes", choices(SIZES, localStorage.getItem("size") || "1", (value) => kept("size", value))),
          tick("plain black on white", localStorage.getItem("strong") === "yes", (on) => kept("strong", on ? "yes" : "no")),
          tick("no frame and no number while it plays", localStorage.getItem("still") === "yes", (on) => kept("still", on ? "yes" : "no")))),
      make("fieldset", {}, make("legend", {}, "Sound delay"),
        make("p", {}, "Between a key and the sound lies a little time of the machine’s own. Tap with every click, as evenly as you can, and it is taken off what you play from then on. A microphone that hears the track needs no measuring: every take tells it afresh."),
        make("div", { class: "row" }, labelled("I clap with", choices(SOURCES, this.source, (value) => { this.source = value; this.said.textContent = this.known(); })), this.begin),
        this.pad, this.said));
  }

  known() {
    const delay = this.told.delays.find((each) => each.source === this.source);
    return delay && delay.known
      ? `Kept: ${delay.delay_ms.toFixed(1)} ms, give or take ${delay.error_ms.toFixed(1)} ms.`
      : "Not measured yet: whether all your claps lie a little early or late cannot be told.";
  }

  measure = trying(async () => {
    const track = await new Track(await post("/api/delay/track")).load();
    this.clapping = new Clapping(this.player, { source: this.source, kind: "claps", aloud: false, pad: this.pad, onclap: () => {} });
    await this.clapping.open();
    await this.player.start(track);
    await this.clapping.begin();
    this.pad.hidden = false;
    this.pad.focus();
    this.begin.textContent = "Stop";
    this.said.textContent = "Tap with every click, until the end.";
    this.watch();
  });

  watch() {
    if (!this.player.playing) return;
    if (this.player.endedFor(0)) this.player.stop(true);
    else requestAnimationFrame(() => this.watch());
  }

  ended() {
    this.pad.hidden = true;
    this.begin.textContent = "Measure it";
    const { clapping } = this;
    this.clapping = null;
    if (clapping) this.hear(clapping);
  }

  async hear(clapping) {
    try {
      const told = await clapping.end(false, "/api/delay/end");
      this.told = await get("/api/settings");
      this.said.textContent = told.text;
    } catch (error) {
      this.said.textContent = error.message;
    }
  }
}
