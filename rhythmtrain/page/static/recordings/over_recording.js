// A recording whose beats are known, put to use: which passage it accompanies, and on to its entry.

import { get, post } from "../ask.js";
import { choices, labelled, make, trying } from "../parts.js";

// `passage` is the one that was practised last.
export async function practisingOver(way, passage) {
  const shelf = await get("/api/shelf");
  const passages = [...shelf.own, ...shelf.supplied].map((each) => [each.name, each.title]);
  let chosen = passages.some(([name]) => name === passage) ? passage : passages[0][0];
  const use = trying(async () => {
    const told = await post(`${way}/use`, { passage: chosen });
    location.hash = `entry/${encodeURIComponent(told.name)}`;
  });
  return [
    make("h2", {}, "Practise with it"),
    make("div", { class: "row" }, labelled("The passage it accompanies", choices(passages, chosen, (value) => { chosen = value; })),
      make("button", { class: "main", onclick: use }, "Practise my entry over it"))];
}
