// What one wishes to hear of a passage: which bars, how fast, how often, with what.

import { usualFiner } from "./finer.js";
import { choices, labelled, make, tick } from "../parts.js";

const SLOWEST = 0.3;
const FASTEST = 1.2;
const COUNT_IN = [[0, "none"], [1, "one bar"], [2, "two bars"]];
const ECHO = [[0, "play along"], [1, "after each bar heard"], [2, "after every two bars heard"]];
const OFTEN = [1, 2, 3, 4, 6, 8].map((each) => [each, each === 1 ? "once" : `${each} times`]);

export const usualWish = (passage) => ({
  passage, bars: null, speed: 0.6, count_in: 1, repeats: 1, echo: 0, fade: false, recorded: false, ...usualFiner,
});

export const slower = (speed) => Math.max(SLOWEST, speed * 0.8);

// Bars as one asks for them: null where they are all of the passage.
export const barsAsked = ([low, high], first, last) => (first === low && last === high ? null : `${first}-${last}`);

export const barsInWords = (first, last) => (first === last ? `bar ${first}` : `bars ${first} to ${last}`);

export function howFast(wish, shown) {
  const words = () => `${Math.round(shown.tempo * wish.speed)} beats a minute, ${Math.round(wish.speed * 100)} % of the written tempo`;
  const told = make("span", { "aria-hidden": "true" });
  const slider = make("input", { type: "range", min: SLOWEST, max: FASTEST, step: 0.01, value: wish.speed });
  const tell = () => {
    slider.setAttribute("aria-valuetext", words());
    told.textContent = words();
  };
  slider.addEventListener("input", () => { wish.speed = Number(slider.value); tell(); });
  tell();
  return make("div", { class: "row" }, labelled("How fast", slider), told);
}

// `onbars` is told which bars are wished, null for all.
export function whichBars(wish, shown, onbars) {
  const [low, high] = shown.whole;
  const bar = (value) => make("input", { type: "number", min: low, max: high, value });
  const from = bar(shown.numbers[0]);
  const to = bar(shown.numbers[shown.numbers.length - 1]);
  const take = () => onbars(barsAsked(shown.whole, Number(from.value), Number(to.value)));
  return make("fieldset", {}, make("legend", {}, "Which bars"), make("div", { class: "row" },
    labelled("from", from), labelled("to", to), make("button", { onclick: take }, "Take these"),
    make("button", { hidden: wish.bars === null, onclick: () => onbars(null) }, "All bars")));
}

// `clapped` is how it is clapped: over and over, and after the accompanist's rhythm.  `onchange` is told that
// the other wishes look different now.
export function howOften(wish, shown, clapped, onchange) {
  const change = (key) => (value) => { wish[key] = Number(value); };
  const often = (value) => { wish.repeats = Number(value); wish.fade = wish.fade && wish.repeats > 1; onchange(); };
  const recorded = (on) => { wish.recorded = on; onchange(); };
  const once = !clapped.over;
  return make("div", { class: "row" },
    labelled("Count-in", choices(COUNT_IN, wish.count_in, change("count_in"))),
    once ? labelled("Play it", choices(OFTEN, wish.repeats, often)) : "",
    labelled("Answer", choices(ECHO, wish.echo, change("echo"))),
    once && wish.repeats > 1 ? tick("help thins each time", wish.fade, (on) => { wish.fade = on; }) : "",
    tick("over and over, until I stop", clapped.over, (on) => { clapped.over = on; onchange(); }),
    shown.cued ? tick("clap the accompanist’s rhythm first", clapped.theirs, (on) => { clapped.theirs = on; }) : "",
    shown.recorded ? tick("with the recorded accompaniment", wish.recorded, recorded) : "");
}
