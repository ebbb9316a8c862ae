// Microphones and loudspeakers by their names, where the browser tells them: it does once a microphone is
// allowed.  Which one is chosen is kept by the browser.

import { audio } from "./player.js";
import { choices, labelled, make, trying } from "../parts.js";

const REFUSED = "The browser names them once the microphone is allowed for this page: allow it in its address bar.";
const NO_OTHER = "The browser knows no other one.";
// Names for whichever the system has chosen, which is what is used anyway.
const USUAL = new Set(["", "default", "communications"]);

export const loudspeakersAreNamed = () => "setSinkId" in AudioContext.prototype;

async function named(kind) {
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

// A button that asks for the names, in whose place they are then chosen from; `onchange` is told which, "" for
// the browser's own choice.
export function byName(words, kind, chosen, onchange) {
  const place = make("span", { class: "pair" });
  const list = trying(async () => {
    const pairs = await named(kind);
    const field = choices([["", "as the browser has it"], ...pairs], chosen, onchange);
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
