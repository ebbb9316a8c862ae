// The beats as a file: kept elsewhere, brought back, or tapped elsewhere and brought.

import { bring } from "../ask.js";
import { labelled, make, trying } from "../parts.js";

const INSTEAD = "Put these beats in place of those that are known now?";

// `asked` tells which bars were tapped; `onwait` is told what to show meanwhile, `onmapped` the beats that came.
export function beatsFile(way, asked, { onwait, onmapped }) {
  let known = false;
  const away = make("p", { hidden: true }, make("a", { href: `${way}/beats/file`, download: "" }, "these beats as a file"));
  const field = make("input", { type: "file", accept: ".beats,.txt,.mid,.midi" });
  field.addEventListener("change", trying(async () => {
    const [file] = field.files;
    field.value = "";
    if (!file || (known && !window.confirm(INSTEAD))) return;
    onwait("Reading the beats …");
    try {
      onmapped(await bring(`${way}/beats/file`, { file: file.name, ...asked() }, await file.arrayBuffer()));
    } catch (error) {
      onwait("");
      throw error;
    }
  }));
  const place = make("details", { class: "take" }, make("summary", {}, "Keep the beats elsewhere, or bring them"),
    away, make("p", {}, "Bring beats that were kept so, or taps on the beats of the bars named above, as seconds, one a line, or MIDI."),
    labelled("beats or taps", field));
  return { place, known(are) { known = are; away.hidden = !are; } };
}
