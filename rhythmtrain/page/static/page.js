// The page: its places, and which of them is open.  The address after # says where one is.

import { make, say, trying } from "./parts.js";
import { takeDrops } from "./bringing.js";
import { choosePlace } from "./choose.js";
import { classPlace } from "./class.js";
import { daysPlace } from "./days.js";
import { entryPlace } from "./entry.js";
import { practisePlace } from "./practise.js";
import { recordingPlace } from "./recording.js";
import { sessionPlace } from "./session.js";
import { applySize, settingsPlace } from "./settings.js";
import { writePlace } from "./write.js";

const PLACES = {
  choose: { words: "Choose", open: choosePlace },
  practise: { words: "Practise", open: practisePlace, needs: true },
  session: { words: "Session", open: sessionPlace, needs: true },
  entry: { words: "Come in", open: entryPlace, needs: true },
  recording: { words: "Recording", open: recordingPlace },
  days: { words: "Days", open: daysPlace },
  class: { words: "Class", open: classPlace },
  write: { words: "Write", open: writePlace },
  settings: { words: "Settings", open: settingsPlace },
};

applySize();

const main = document.getElementById("main");
const bar = document.getElementById("places");
let leaving = null;
let first = true;

export function go(place, passage = null) {
  location.hash = passage ? `${place}/${encodeURIComponent(passage)}` : place;
}

function where() {
  const [place, passage, more] = location.hash.slice(1).split("/");
  const known = PLACES[place] ? place : "choose";
  return { place: known, passage: passage ? decodeURIComponent(passage) : null, more: new URLSearchParams(more || "") };
}

const open = trying(async () => {
  const { place, passage, more } = where();
  if (leaving) leaving();
  leaving = null;
  say("");
  if (passage) sessionStorage.setItem("passage", passage);
  const chosen = passage || sessionStorage.getItem("passage");
  bar.replaceChildren(...Object.entries(PLACES).map(([name, each]) => {
    const to = each.needs && chosen ? `#${name}/${encodeURIComponent(chosen)}` : `#${name}`;
    return make("li", {}, make("a", { href: to, "aria-current": name === place ? "page" : null }, each.words));
  }));
  if (PLACES[place].needs && !chosen) {
    go("choose");
    return;
  }
  main.replaceChildren(make("p", { class: "quiet" }, "One moment …"));
  document.title = `${PLACES[place].words} – rhythmtrain`;
  leaving = (await PLACES[place].open(main, chosen, more)) || null;
  // Whoever goes to another place begins at its top; on the first view the way in is the page's own.
  if (!first) main.focus({ preventScroll: true });
  first = false;
  window.scrollTo(0, 0);
});

takeDrops();
window.addEventListener("hashchange", open);
open();
