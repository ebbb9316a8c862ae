// The numbers that a session goes by, each with what supports it; whoever knows better sets them.

import { get, post } from "../ask.js";
import { choices, labelled, make, trying } from "../parts.js";

const ABOUT = "Little of what teachers do has been tested: each number says what supports it, or that it is custom: teachers do it so, and nobody has measured it. What you set here holds from the next session on.";

// Folded away, and asked for when it is opened.
export function numbers() {
  const all = make("div");
  const place = make("details", {}, make("summary", {}, "By which numbers, and why"), all);
  place.addEventListener("toggle", () => open(all), { once: true });
  return place;
}

async function open(all) {
  try {
    show(all, await get("/api/numbers"));
  } catch (error) {
    all.replaceChildren(make("p", { class: "trouble" }, error.message), asUsual(all));
  }
}

function asUsual(all) {
  return make("button", { type: "button", class: "plain", onclick: trying(async () => {
    show(all, await post("/api/numbers", { usual: true }));
    all.querySelector("button").focus();
  }) }, "Set all of them as usual");
}

function show(all, told) {
  const rows = told.numbers.map((each) => make("li", {}, one(all, each)));
  all.replaceChildren(make("p", {}, ABOUT), make("ul", { class: "list numbers" }, rows), asUsual(all));
}

function one(all, { name, value, usual, least, most, whole, choices: words, meaning, ground }) {
  const range = words.length ? "" : `, and it may be ${least} to ${most}`;
  const told = make("p", { class: "quiet" }, `Usually ${usual}${range}; ${ground}.`);
  const keep = trying(async (wanted) => {
    try {
      const now = (await post("/api/numbers", { number: name, value: wanted })).numbers.find((each) => each.name === name);
      field.value = now.value;
      field.removeAttribute("aria-invalid");
    } catch (error) {
      field.setAttribute("aria-invalid", "true");
      throw error;
    }
  });
  // A field that was emptied is as usual.
  const typed = () => keep(field.value === "" ? usual : Number(field.value));
  const field = words.length ? choices(words.map((each) => [each, each]), value, keep)
    : make("input", { type: "number", class: "figure", min: least, max: most, step: whole ? 1 : "any", value, onchange: typed });
  return [labelled(`${name.replace(/_s$/, "").replaceAll("_", " ")}: ${meaning}`, field), told];
}
