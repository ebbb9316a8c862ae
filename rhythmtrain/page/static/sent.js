// A take that was recorded elsewhere, with a phone say: the program hears it as it hears one played here.

import { bring } from "./ask.js";
import { KINDS } from "./listening.js";
import { choices, labelled, make, tick, trying } from "./parts.js";

const TAKES = "audio/*,video/*,.mid,.midi,.txt";

// `wish` tells what was played; `onheard` is given what was heard, `onwait` what to show meanwhile.
export function recordedTake(wish, { onwait, onheard }) {
  const chosen = { kind: "claps", aloud: false, keep: true, known: false };
  const pace = () => (wish().recorded || chosen.known ? wish().speed : null);
  const hear = trying(async (file) => {
    const { passage, bars, recorded } = wish();
    const { kind, aloud, keep } = chosen;
    onwait(`Listening to ${file.name} …`);
    try {
      onheard(await bring("/api/heard", { file: file.name, passage, bars, recorded, speed: pace(), kind, aloud, keep }, await file.arrayBuffer()));
    } catch (error) {
      onwait("");
      throw error;
    }
  });
  const field = make("input", { type: "file", accept: TAKES });
  field.addEventListener("change", () => {
    const [file] = field.files;
    field.value = "";
    if (file) hear(file);
  });
  const aloud = tick("counted aloud in it", chosen.aloud, (on) => { chosen.aloud = on; });
  const kind = choices(KINDS, chosen.kind, (value) => { chosen.kind = value; aloud.hidden = value !== "claps"; });
  return make("details", { class: "take" }, make("summary", {}, "Have a recording of yourself heard"),
    make("p", {}, "One that your phone made of these bars, or a MIDI file. Where it begins, how fast it is and how often you played is found."),
    make("div", { class: "row" },
      labelled("playing", kind), aloud,
      tick("I played at the speed set above", chosen.known, (on) => { chosen.known = on; }),
      tick("keep it among my takes", chosen.keep, (on) => { chosen.keep = on; })),
    labelled("the recording", field));
}
