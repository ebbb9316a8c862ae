// A take that was recorded elsewhere, with a phone say: the program hears it as it hears one played here.

import { bring } from "../ask.js";
import { KINDS } from "../listening/listening.js";
import { choices, labelled, make, tick, trying } from "../parts.js";

const TAKES = "audio/*,video/*,.mid,.midi,.txt";
const FOLLOWED = [["click", "a click or a track"], ["free", "nobody: the tempo may breathe"]];
const RECORDED = ["recording", "the recorded accompaniment"];
const FOUND = "leave it empty, and it is found";

// `wish` tells what was played, `shown` what is known of it; `onheard` is given what was heard, `onwait`
// what to show meanwhile.
export function recordedTake(wish, shown, { onwait, onheard }) {
  const chosen = { timing: wish().recorded ? "recording" : "click", kind: "claps", aloud: false, keep: true, known: false, freely: false, meet: "", start: "", tempo: "", repeats: "", echo: "" };
  const hear = trying(async (file) => {
    onwait(`Listening to ${file.name} …`);
    try {
      onheard(await bring("/api/heard", { file: file.name, ...asked(wish(), chosen) }, await file.arrayBuffer()));
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
    rarely(chosen, shown),
    labelled("the recording", field));
}

// What goes with the file: what is of no use for what was chosen is not said.
function asked({ passage, bars, speed, lead_in }, chosen) {
  const { timing, kind, keep, start, tempo, repeats, echo } = chosen;
  const beside = timing === "recording" ? { freely: chosen.freely, meet: chosen.meet, lead_in } : {};
  const pace = !tempo && (timing === "recording" || chosen.known) ? speed : null;
  return { passage, bars, speed: pace, tempo, timing, kind, aloud: kind === "claps" && chosen.aloud, keep, start, repeats, echo, ...beside };
}

// What few people have to say: what they followed, how fast, where bar 1 begins, how often the passage comes.
function rarely(chosen, shown) {
  const figure = (key, limits) => make("input", { type: "number", class: "figure", ...limits, oninput: (event) => { chosen[key] = event.target.value; } });
  const meet = make("input", { type: "text", placeholder: "1,5,9", size: 9, autocomplete: "off", oninput: (event) => { chosen.meet = event.target.value.trim(); } });
  const beside = make("div", { class: "row", hidden: chosen.timing !== "recording" },
    tick("freely: only where you must meet it are you held to it", chosen.freely, (on) => { chosen.freely = on; }),
    labelled("Bars to meet in", meet));
  const followed = choices([...FOLLOWED, ...(shown.mapped ? [RECORDED] : [])], chosen.timing, (value) => { chosen.timing = value; beside.hidden = value !== "recording"; });
  return make("details", {}, make("summary", {}, "More"),
    make("div", { class: "row" },
      labelled("I followed", followed),
      labelled("The passage comes", figure("repeats", { min: 1, max: 99, step: 1, placeholder: "1" }), "times in a row"),
      labelled("I gave back", figure("echo", { min: 0, max: 16, step: 1, placeholder: "0" }), "bars at a time (an echo)")),
    beside,
    make("div", { class: "row" }, labelled("I played at", figure("tempo", { min: 10, max: 400, step: "any" }), make("span", { class: "quiet" }, `beats a minute; ${FOUND}`))),
    make("div", { class: "row" }, labelled("Bar 1 begins at second", figure("start", { min: 0, step: "any" }), make("span", { class: "quiet" }, FOUND))));
}
