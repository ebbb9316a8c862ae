// The accompanist's notes as a file: with them nothing has to be tapped.

import { bring } from "../ask.js";
import { labelled, make, trying } from "../parts.js";

// `onwait` is told what to show meanwhile, `onmapped` the beats that were found.
export function notesFile(way, { onwait, onmapped }) {
  const part = make("input", { type: "text", size: 12, placeholder: "the keyboard’s" });
  const order = make("input", { type: "text", size: 18, placeholder: "as written" });
  const field = make("input", { type: "file", accept: ".musicxml,.mxl,.xml,.mid,.midi" });
  field.addEventListener("change", trying(async () => {
    const [file] = field.files;
    field.value = "";
    if (!file) return;
    onwait("Laying the notes on the recording …");
    try {
      onmapped(await bring(`${way}/notes`, { file: file.name, part: part.value, order: order.value }, await file.arrayBuffer()));
    } catch (error) {
      onwait("");
      throw error;
    }
  }));
  return make("details", { class: "take" }, make("summary", {}, "I have the accompanist’s notes"),
    make("p", {}, "A score (MusicXML) or MIDI of what the piano plays: every bar is found, and nothing has to be tapped."),
    make("div", { class: "row" }, labelled("their part", part), labelled("bars as the recording plays them, such as 1-8,1-8,9-24", order)),
    labelled("the notes", field));
}
