// Whose part of a score one practises, and which is the accompanist's: chosen once, kept as one's own.

import { post } from "../ask.js";
import { labelled, make, trying } from "../parts.js";

export function whosePart(passage) {
  const field = (placeholder) => make("input", { type: "text", placeholder, size: 16, autocomplete: "off" });
  const part = field("its name or number");
  const cue = field("Piano, say");
  const read = trying(async () => {
    const told = await post("/api/passage/part", { passage, part: part.value.trim(), cue_part: cue.value.trim() });
    const to = `#practise/${encodeURIComponent(told.name)}`;
    if (location.hash === to) location.reload();
    else location.hash = to;
  });
  return make("details", { class: "take" }, make("summary", {}, "Whose part"),
    make("p", {}, "A score has several parts: yours, and the accompanist’s, whose top line is your cue in the rests (Piano:lower is its bass, Piano:all both hands)."),
    make("form", { class: "row", onsubmit: (event) => { event.preventDefault(); read(); } },
      labelled("I play", part), labelled("the accompanist is", cue), make("button", {}, "Read it so")));
}
