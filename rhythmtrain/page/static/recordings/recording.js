// Recordings: those that were brought, another one, and the beats of the one that is chosen.

import { get } from "../ask.js";
import { bringing } from "../wishes/bringing.js";
import { Mapping } from "./mapping.js";
import { make } from "../parts.js";

const ABOUT = "The few bars that matter come first: bring the recorded accompaniment, tap the beats of four to eight bars once while it plays, and practise your entry over it.";

export const toRecording = (name) => `#recording//${new URLSearchParams({ name })}`;

export async function recordingPlace(main, passage, more) {
  if (!more.get("name")) {
    await listed(main);
    return null;
  }
  const mapping = new Mapping(main, passage);
  await mapping.show(more.get("name"), { fresh: Boolean(more.get("fresh")) });
  return () => mapping.close();
}

async function listed(main) {
  const { recordings } = await get("/api/recordings");
  main.replaceChildren(
    make("h1", {}, "Where the bars of a recording fall"),
    make("p", { class: "quiet" }, ABOUT),
    make("div", { class: "row" }, bringing("Bring a recording")),
    make("ul", { class: "list" }, recordings.map((each) => make("li", {},
      make("a", { class: "choice", href: toRecording(each.name) }, make("b", {}, each.title), each.mapped ? "its beats are known" : "no beats yet")))));
}
