// What the player claps or plays with, chosen once and kept by the browser.

import { midiNames } from "./midi.js";
import { byName, named } from "../sound/devices.js";
import { choices, labelled, make, tick } from "../parts.js";

export const SOURCES = [["keys", "keys or the screen"], ["midi", "a MIDI pad or keyboard"], ["mic", "the microphone"]];
export const KINDS = [["claps", "claps"], ["voice", "voice"], ["wind", "a wind instrument"], ["brass", "a brass instrument"], ["strings", "bowed strings"], ["plucked", "plucked strings or a piano"]];
const KEPT = "listens";

export function listens() {
  const usual = { source: "keys", kind: "claps", aloud: true, device: "", midi: "" };
  try {
    return { ...usual, ...JSON.parse(localStorage.getItem(KEPT) || "{}") };
  } catch {
    return usual;
  }
}

// What of it matters: only a microphone listens for a kind of sound.
export function heardBy({ source, kind, aloud, device, midi }) {
  if (source === "mic") return { source, kind, aloud: aloud && kind === "claps", device };
  return { source, kind: "claps", aloud: false, device: source === "midi" ? midi : "" };
}

const keep = (chosen) => localStorage.setItem(KEPT, JSON.stringify(chosen));

// Which keyboard or pad of several one claps on: one that rests beside it is not heard then.
export function whichMidi(chosen) {
  const asked = async () => (await midiNames()).map((name) => [name, name]);
  const choose = (name) => { chosen.midi = name; keep(chosen); };
  return byName("Which MIDI device", asked, chosen.midi, choose, "every one");
}

export function listening(chosen) {
  const set = (key) => (value) => { chosen[key] = value; keep(chosen); };
  const kind = labelled("playing", choices(KINDS, chosen.kind, set("kind")));
  const aloud = tick("I count aloud", chosen.aloud, set("aloud"));
  const which = byName("Which microphone", () => named("audioinput"), chosen.device, set("device"));
  const midi = whichMidi(chosen);
  const show = () => {
    for (const each of [kind, aloud, which]) each.hidden = chosen.source !== "mic";
    midi.hidden = chosen.source !== "midi";
  };
  const source = choices(SOURCES, chosen.source, (value) => { set("source")(value); show(); });
  show();
  return make("fieldset", {}, make("legend", {}, "How you clap"), make("div", { class: "row" }, labelled("I clap with", source), kind, aloud, which, midi));
}
