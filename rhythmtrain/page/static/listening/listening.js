// What the player claps or plays with, chosen once and kept by the browser.

import { byName } from "../sound/devices.js";
import { choices, labelled, make, tick } from "../parts.js";

export const SOURCES = [["keys", "keys or the screen"], ["midi", "a MIDI pad or keyboard"], ["mic", "the microphone"]];
export const KINDS = [["claps", "claps"], ["voice", "voice"], ["wind", "a wind instrument"], ["brass", "a brass instrument"], ["strings", "bowed strings"], ["plucked", "plucked strings or a piano"]];
const KEPT = "listens";

export function listens() {
  const usual = { source: "keys", kind: "claps", aloud: true, device: "" };
  try {
    return { ...usual, ...JSON.parse(localStorage.getItem(KEPT) || "{}") };
  } catch {
    return usual;
  }
}

// What of it matters: only a microphone listens for a kind of sound.
export function heardBy({ source, kind, aloud, device }) {
  return source === "mic" ? { source, kind, aloud: aloud && kind === "claps", device } : { source, kind: "claps", aloud: false };
}

export function listening(chosen) {
  const keep = () => localStorage.setItem(KEPT, JSON.stringify(chosen));
  const kind = labelled("playing", choices(KINDS, chosen.kind, (value) => { chosen.kind = value; keep(); }));
  const aloud = tick("I count aloud", chosen.aloud, (on) => { chosen.aloud = on; keep(); });
  const which = byName("Which microphone", "audioinput", chosen.device, (value) => { chosen.device = value; keep(); });
  const show = () => {
    for (const each of [kind, aloud, which]) each.hidden = chosen.source !== "mic";
  };
  const source = choices(SOURCES, chosen.source, (value) => { chosen.source = value; keep(); show(); });
  show();
  return make("fieldset", {}, make("legend", {}, "How you clap"), make("div", { class: "row" }, labelled("I clap with", source), kind, aloud, which));
}
