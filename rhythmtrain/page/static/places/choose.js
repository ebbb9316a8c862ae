// Choosing a passage: one's own and the supplied ones, or a score or recording that is brought.

import { get, post } from "../ask.js";
import { bringing } from "../wishes/bringing.js";
import { make, say, trying } from "../parts.js";

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
    make("p", { class: "quiet" }, "Take one of these, write your own, or bring the piece: a score (MusicXML or MIDI) to practise, a recording to practise over. A file can also be dropped anywhere on this page."),
    make("div", { class: "row" }, make("a", { href: "#write" }, "Write a rhythm"), bringing("Bring a score or a recording")),
    make("div", { class: "row" }, make("label", { for: "search" }, "Look for"), search),
    several(told),
    make("h2", {}, "Your own"), own,
    make("h2", {}, "Supplied, from easy to hard"), supplied,
  );
}

// Few hand out packs: what that needs is loaded when it is opened.
function several(told) {
  const place = make("details", { class: "take" }, make("summary", {}, "Make one pack of several passages, or one sheet"));
  place.addEventListener("toggle", trying(async () => place.append((await import("../wishes/packing.js")).packing(told))), { once: true });
  return place;
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
