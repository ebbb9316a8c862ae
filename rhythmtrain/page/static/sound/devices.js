// Microphones and loudspeakers by their names, where the browser tells them: it does once a microphone is
// allowed.  Which one is chosen is kept by the browser.

import { audio } from "./player.js";
import { choices, labelled, make, trying } from "../parts.js";

const REFUSED = "The browser names them once the microphone is allowed for this page: allow it in its address bar.";
const AWAY = "the one you chose (not plugged in)";
const NO_OTHER = "The browser knows no other one.";
// Names for whichever the system has chosen, which is what is used anyway.
const USUAL = new Set(["", "default", "communications"]);

export const loudspeakersAreNamed = () => "setSinkId" in AudioContext.prototype;

export async function named(kind) {
  const media = navigator.mediaDevices;
  try {
    const opened = await media.getUserMedia({ audio: true });
    opened.getTracks().forEach((each) => each.stop());
  } catch {
    throw new Error(REFUSED);
  }
  const all = await media.enumerateDevices();
  return all.filter((each) => each.kind === kind && !USUAL.has(each.deviceId)).map((each) => [each.deviceId, each.label]);
}

// A button that asks for the names, in whose place they are then chosen from.  `asked` brings them in pairs of value
// and words; `onchange` is told which, "" for what is `usual`.  What was chosen and is not there now is said to be so.
export function byName(words, asked, chosen, onchange, usual = "as the browser has it") {
  const place = make("span", { class: "pair" });
  const list = trying(async () => {
    const pairs = await asked();
    const away = chosen === "" || pairs.some(([value]) => value === chosen) ? [] : [[chosen, AWAY]];
    const field = choices([["", usual], ...pairs, ...away], chosen, onchange);
    place.replaceChildren(labelled(words, field, pairs.length ? "" : make("span", { class: "quiet" }, NO_OTHER)));
    field.focus();
  });
  place.append(make("button", { type: "button", class: "plain", onclick: list }, `${words} …`));
  return place;
}

export async function soundFrom(loudspeaker) {
  localStorage.setItem("loudspeaker", loudspeaker);
  await audio().setSinkId(loudspeaker);
}
