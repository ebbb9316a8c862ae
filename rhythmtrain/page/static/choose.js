// Choosing a passage: one's own and the supplied ones, or a score that is brought.

import { bring, get, post } from "./ask.js";
import { make, say, trying } from "./parts.js";

const link = (place, name) => `#${place}/${encodeURIComponent(name)}`;

export async function choosePlace(main) {
  const told = await get("/api/shelf");
  if (told.greetings.length) say(told.greetings.join(" "), 20);
  const search = make("input", { type: "text", id: "search", autocomplete: "off", oninput: () => sift(search.value) });
  const supplied = list(told.supplied, false);
  const own = told.own.length ? list(told.own, true) : make("p", { class: "quiet" }, "None yet. Write one, clap one in, or bring a score.");

  function sift(words) {
    const wanted = words.trim().toLowerCase();
    for (const item of main.querySelectorAll(".list > li")) item.hidden = !item.textContent.toLowerCase().includes(wanted);
  }

  main.replaceChildren(
    make("h1", {}, "What will you practise?"),
    make("p", { class: "quiet" }, "Take one of these, write your own, or bring the piece as MusicXML or MIDI."),
    make("div", { class: "row" }, make("a", { href: "#write" }, "Write a rhythm"), bringing()),
    make("div", { class: "row" }, make("label", { for: "search" }, "Look for"), search),
    make("h2", {}, "Your own"), own,
    make("h2", {}, "Supplied, from easy to hard"), supplied,
  );
}

function list(passages, own) {
  return make("ul", { class: "list" }, passages.map((each) => make("li", { class: own ? "own" : null },
    make("a", { class: "choice", href: link("practise", each.name) }, make("b", {}, each.title), make("span", { class: "quiet" }, each.about)),
    own ? make("button", { class: "plain", "aria-label": `Take ${each.title} away`, onclick: trying(async () => {
      if (!window.confirm(`Take “${each.title}” away for good? Your takes of it stay in the history.`)) return;
      await post("/api/passage/away", { name: each.name });
      await choosePlace(document.getElementById("main"));
    }) }, "take away") : "")));
}

function bringing() {
  const field = make("input", { type: "file", id: "bring", accept: ".musicxml,.mxl,.xml,.mid,.midi,.toml" });
  const take = trying(async (file) => {
    const told = await bring("/api/passage/bring", { file: file.name }, await file.arrayBuffer());
    location.hash = link("practise", told.name).slice(1);
  });
  field.addEventListener("change", () => field.files.length && take(field.files[0]));
  const place = make("span", { class: "pair" }, make("label", { for: "bring" }, "Bring a score:"), field);
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.ondrop = (event) => {
    event.preventDefault();
    if (event.dataTransfer.files.length) take(event.dataTransfer.files[0]);
  };
  return place;
}
