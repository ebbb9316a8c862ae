// What is set once: the language of the count, note names, how large, what moves, and the sound delay.

import { get, post } from "../ask.js";
import { applySize, sizeSet } from "../calm.js";
import { heardBy, listens, whichMidi } from "../listening/listening.js";
import { byName, loudspeakersAreNamed, named, soundFrom } from "../sound/devices.js";
import { choices, labelled, make, tick, trying } from "../parts.js";
import { Track } from "../sound/player.js";
import { Stand } from "../stand/stand.js";
import { OwnVoice } from "./voice.js";

const LANGUAGES = { en: "English", de: "German", fr: "French", es: "Spanish", nl: "Dutch" };
const SIZES = [["1", "usual"], ["1.25", "large"], ["1.5", "very large"]];
const SOURCES = [["keys", "the keyboard or the screen"], ["midi", "a MIDI pad or keyboard"]];
const ABOUT_DELAY = "Between a key and the sound lies a little time of the machine’s own. Tap with every click, as evenly as you can, and it is taken off what you play from then on. A microphone that hears the track needs no measuring: every take tells it afresh.";
const ABOUT_LOUDSPEAKER = "Start quiet when you change it. Each has a sound delay of its own: measure it again afterwards.";
const UNKNOWN = "Not measured yet: whether all your claps lie a little early or late cannot be told.";

export async function settingsPlace(main) {
  const place = new Settings(main);
  await place.open();
  return () => place.stand.close();
}

class Settings {
  constructor(main) {
    this.main = main;
    this.source = "keys";
    this.voice = new OwnVoice();
    this.stand = new Stand({
      asks: "Tap here with every click: any key, or touch", indexOf: () => null,
      onstate: (state) => this.showState(state), onend: (clapping, finished) => this.hear(clapping, finished),
    });
  }

  async open() {
    this.told = await get("/api/settings");
    this.begin = make("button", { onclick: () => (this.stand.playing ? this.stand.stop() : this.measure()) }, "Measure it");
    this.said = make("p", { role: "status" }, this.known());
    this.main.replaceChildren(make("h1", {}, "Settings"), this.words(), this.looks(), this.sound(), this.delay(), this.voice.place);
    await this.voice.open();
  }

  words() {
    const set = (key) => trying(async (value) => {
      this.told = await post("/api/settings", { [key]: value });
      await this.voice.open();
    });
    const languages = this.told.languages.map((each) => [each, LANGUAGES[each] || each]);
    return make("fieldset", {}, make("legend", {}, "Words"), make("div", { class: "row" },
      labelled("Count in", choices(languages, this.told.language, set("language"))),
      tick("crotchets and quavers instead of quarters and eighths", this.told.british, set("british"))));
  }

  looks() {
    const keep = (key, value) => { localStorage.setItem(key, value); applySize(); };
    const yes = (words, key) => tick(words, localStorage.getItem(key) === "yes", (on) => keep(key, on ? "yes" : "no"));
    return make("fieldset", {}, make("legend", {}, "What you see"), make("div", { class: "row" },
      labelled("Letters and notes", choices(SIZES, localStorage.getItem("size") || "1", (value) => keep("size", value))),
      yes("plain black on white", "strong"), yes("no frame and no number while it plays", "still")));
  }

  delay() {
    const midi = whichMidi(listens());
    midi.hidden = true;
    const source = choices(SOURCES, this.source, (value) => {
      this.source = value;
      midi.hidden = value !== "midi";
      this.said.textContent = this.known();
    });
    return make("fieldset", {}, make("legend", {}, "Sound delay"), make("p", {}, ABOUT_DELAY),
      make("div", { class: "row" }, labelled("I clap with", source), midi, this.begin), this.stand.pad, this.said);
  }

  sound() {
    if (!loudspeakersAreNamed()) return "";
    const which = byName("Which loudspeaker", () => named("audiooutput"), localStorage.getItem("loudspeaker") || "", trying(soundFrom));
    return make("fieldset", {}, make("legend", {}, "Where the sound comes from"), make("p", {}, ABOUT_LOUDSPEAKER), make("div", { class: "row" }, which));
  }

  known() {
    const delay = this.told.delays.find((each) => each.source === this.source);
    return delay && delay.known ? `Kept: ${delay.delay_ms.toFixed(1)} ms, give or take ${delay.error_ms.toFixed(1)} ms.` : UNKNOWN;
  }

  measure = trying(() => this.stand.play(
    async () => new Track(await post("/api/delay/track")).load(),
    { heard: () => heardBy({ ...listens(), source: this.source }) },
  ));

  showState(state) {
    this.begin.disabled = state === "making";
    this.begin.textContent = state === "playing" ? "Stop" : "Measure it";
    if (state !== "playing") return;
    this.said.textContent = "Tap with every click, until the end.";
    this.begin.focus({ preventScroll: true });
  }

  async hear(clapping, finished) {
    try {
      const told = await clapping.end(!finished, "/api/delay/end");
      this.told = await get("/api/settings");
      this.said.textContent = told.text;
    } catch (error) {
      this.said.textContent = error.message;
    }
  }
}
