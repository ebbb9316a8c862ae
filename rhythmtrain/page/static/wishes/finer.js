// What few people change: which counts are spoken and how, the click, a steady recording.

import { choices, labelled, make, tick } from "../parts.js";

const SAY = [["played", "where you play"], ["beats", "every beat"], ["all", "all of them"]];
const COUNTING = [["numbers", "1 e & a"], ["takadimi", "ta ka di mi"], ["ta-titi", "ta ti-ti"]];
const CLICKS = [["", "the beats"], [2, "two to a beat"], [3, "three to a beat"], [4, "four to a beat"]];

const LEADS = [[1, "one bar before"], [2, "two bars before"], [4, "four bars before"], [8, "eight bars before"]];

export const usualFiner = { say: "played", counting: "numbers", subdivide: null, quick: false, landmarks: false, steady: false, lead_in: 2 };

export function finer(wish) {
  const set = (key, read = (value) => value) => (value) => { wish[key] = read(value); };
  return make("details", { class: "take" }, make("summary", {}, "Finer: the count, the click"), make("div", { class: "row" },
    labelled("Counts that are spoken", choices(SAY, wish.say, set("say"))),
    labelled("in the words", choices(COUNTING, wish.counting, set("counting"))),
    labelled("The click is on", choices(CLICKS, wish.subdivide || "", set("subdivide", (value) => Number(value) || null))),
    tick("count in “one, two, one two three four”", wish.quick, set("quick")),
    tick("say rehearsal letters before they come", wish.landmarks, set("landmarks")),
    wish.recorded ? labelled("The recording begins", choices(LEADS, wish.lead_in, set("lead_in", Number))) : "",
    wish.recorded ? tick("the recording at an even tempo", wish.steady, set("steady")) : ""));
}
