// What one hears and how loud: switched on and off, and moved, also while it plays.

import { make } from "../parts.js";

const LAYERS = {
  clap: "clapped rhythm", click: "click", count: "spoken count", tune: "tune", cue: "accompanist’s rhythm", accompaniment: "recording",
};
const USUAL = 0.8;

// The layers that can be heard of what is `shown`: with the recording, or made by the program.
export function layersOf(shown, recorded) {
  const none = new Set(recorded ? ["cue", "tune"] : ["accompaniment"]);
  if (!shown.tuned) none.add("tune");
  if (!shown.cued) none.add("cue");
  return Object.keys(LAYERS).filter((layer) => !none.has(layer));
}

export function levels(player, shown, recorded) {
  const rows = layersOf(shown, recorded).map((layer) => {
    const level = player.levels.has(layer) ? player.levels.get(layer) : Number(layer !== "tune");
    player.setLevel(layer, level);
    const slider = make("input", { type: "range", min: 0, max: 1, step: 0.05, value: level || USUAL, "aria-label": `How loud: ${LAYERS[layer]}` });
    const set = () => player.setLevel(layer, box.checked ? Number(slider.value) : 0);
    const box = make("input", { type: "checkbox", checked: level > 0, onchange: set });
    slider.addEventListener("input", set);
    return make("div", {}, make("label", { class: "pair" }, box, LAYERS[layer]), slider);
  });
  return make("fieldset", {}, make("legend", {}, "What you hear"), make("div", { class: "levels" }, rows));
}
