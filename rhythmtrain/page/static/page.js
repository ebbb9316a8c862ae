// The page: its places, and which of them is open.  The address after # says where one is.

import { Sentence } from "./ask.js";
import { takeDrops } from "./wishes/bringing.js";
import { applySize } from "./calm.js";
import { markFrames } from "./frames.js";
import { make, say, trying } from "./parts.js";

// What a place needs is loaded when one goes there, or soon after the first view.
const PLACES = {
  choose: { words: "Choose", load: async () => (await import("./places/choose.js")).choosePlace },
  practise: { words: "Practise", load: async () => (await import("./practising/practise.js")).practisePlace, needs: true },
  session: { words: "Session", load: async () => (await import("./practising/session.js")).sessionPlace, needs: true },
  entry: { words: "Come in", load: async () => (await import("./practising/entry.js")).entryPlace, needs: true },
  recording: { words: "Recording", load: async () => (await import("./recordings/recording.js")).recordingPlace },
  days: { words: "Days", load: async () => (await import("./places/days.js")).daysPlace },
  class: { words: "Class", load: async () => (await import("./classes/class.js")).classPlace },
  write: { words: "Write", load: async () => (await import("./places/write.js")).writePlace },
  settings: { words: "Settings", load: async () => (await import("./places/settings.js")).settingsPlace },
};
const NOT_LOADED = "This place could not be loaded: reload the page, and start rhythmtrain open again if that does not help.";

applySize();

const main = document.getElementById("main");
const bar = document.getElementById("places");
let leaving = null;
let first = true;
let turn = 0;
let opening = Promise.resolve();

function where() {
  const [place, passage, more] = location.hash.slice(1).split("/");
  const known = PLACES[place] ? place : "choose";
  return { place: known, passage: passage ? decoded(passage) : null, more: new URLSearchParams(more || "") };
}

function decoded(words) {
  try {
    return decodeURIComponent(words);
  } catch {
    return words;
  }
}

async function loaded(place) {
  try {
    return await PLACES[place].load();
  } catch (error) {
    console.warn(error);
    throw new Sentence(NOT_LOADED);
  }
}

function showPlaces(place, chosen) {
  bar.replaceChildren(...Object.entries(PLACES).map(([name, each]) => {
    const to = each.needs && chosen ? `#${name}/${encodeURIComponent(chosen)}` : `#${name}`;
    return make("li", {}, make("a", { href: to, "aria-current": name === place ? "page" : null }, each.words));
  }));
}

function leave() {
  if (leaving) leaving();
  leaving = null;
}

async function show(place, chosen, more) {
  leave();
  main.replaceChildren(make("p", { class: "quiet" }, "One moment …"));
  document.title = `${PLACES[place].words} – rhythmtrain`;
  try {
    const shown = await loaded(place);
    leaving = (await shown(main, chosen, more)) || null;
  } catch (error) {
    main.replaceChildren(make("h1", {}, PLACES[place].words), make("p", { class: "trouble" }, error.message));
    throw error;
  }
  // Whoever goes to another place begins at its top; on the first view the way in is the page's own.
  if (!first) main.focus({ preventScroll: true });
  first = false;
  window.scrollTo(0, 0);
}

// Goes where the address says.  What was asked for last is shown, whichever answer comes last: a place
// is opened only once the one before it is there, or was passed over.
function open() {
  const { place, passage, more } = where();
  turn += 1;
  const mine = turn;
  main.setAttribute("aria-busy", "true");
  leave();
  say("");
  if (passage) sessionStorage.setItem("passage", passage);
  const chosen = passage || sessionStorage.getItem("passage");
  showPlaces(place, chosen);
  if (PLACES[place].needs && !chosen) {
    location.hash = "choose";
    return opening;
  }
  opening = opening.then(async () => {
    if (mine !== turn) return;
    await trying(show)(place, chosen, more);
    if (mine === turn) main.removeAttribute("aria-busy");
  });
  return opening;
}

takeDrops();
markFrames();
window.addEventListener("hashchange", open);
await open();
// The other places are here before one goes there; one that cannot be loaded says so then.
await Promise.allSettled(Object.values(PLACES).map((each) => each.load()));
