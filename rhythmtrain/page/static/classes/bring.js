// Recordings on their way into a class: what each is called in the teacher's own folder, one request
// a file, how far they are, and what could not be brought.  What comes of the last time is kept here,
// so that it is still told when the class itself is shown.

import { bring, Sentence } from "../ask.js";
import { make, say } from "../parts.js";

const SPEAK_EVERY_MS = 5000;
const MOST_SHOWN = 20;
const BEGINNING = "Beginning.";

export const lately = { name: null, lines: [], wrong: false };

// What was chosen in a field: a folder's own name is the class's, and what lies in it is called from there.
export function picked(list) {
  const files = [...list].map((file) => {
    const way = file.webkitRelativePath;
    return { file, called: way ? way.split("/").slice(1).join("/") : file.name };
  });
  const way = list[0].webkitRelativePath;
  return { title: way ? way.split("/")[0] : "", files };
}

// What was dropped: one folder is the class, several are a student each.
export async function dropped(transfer) {
  const entries = [...transfer.items].map((item) => item.webkitGetAsEntry && item.webkitGetAsEntry()).filter((each) => each);
  if (!entries.length) return { title: "", files: [...transfer.files].map((file) => ({ file, called: file.name })) };
  const files = [];
  const alone = entries.length === 1 && entries[0].isDirectory;
  for (const entry of alone ? await inside(entries[0]) : entries) await walk(entry, "", files);
  return { title: alone ? entries[0].name : "", files };
}

async function walk(entry, before, files) {
  if (entry.isFile) {
    const file = await new Promise((done, failed) => { entry.file(done, failed); });
    files.push({ file, called: before + entry.name });
    return;
  }
  for (const each of await inside(entry)) await walk(each, `${before}${entry.name}/`, files);
}

async function inside(folder) {
  const reader = folder.createReader();
  const found = [];
  for (;;) {
    const some = await new Promise((done, failed) => { reader.readEntries(done, failed); });
    if (!some.length) return found;
    found.push(...some);
  }
}

// How far something is, seen at once and spoken now and then; from the first moment something is said.
export class Going {
  constructor(what, stop) {
    this.bar = make("progress", { "aria-label": what });
    this.words = make("p", { "aria-hidden": "true" }, BEGINNING);
    this.spoken = make("p", { class: "unseen", role: "status" }, BEGINNING);
    this.stop = make("button", { onclick: stop }, "Stop");
    this.place = make("div", { class: "going", tabindex: "-1" }, this.words, this.bar, this.stop, this.spoken);
    this.last = 0;
  }

  tell(done, total, words) {
    this.bar.max = total;
    this.bar.value = done;
    this.words.textContent = words;
    if (performance.now() - this.last < SPEAK_EVERY_MS) return;
    this.last = performance.now();
    this.spoken.textContent = words;
  }
}

function wanted(files, known) {
  const visible = files.filter(({ called }) => !called.split("/").some((part) => part.startsWith(".")));
  const sounding = visible.filter(({ called }) => known.endings.some((ending) => called.toLowerCase().endsWith(ending)));
  return { sounding, passed: visible.length - sounding.length };
}

// Brings every recording of `files` into the class that `into` names, and returns its name; null for none.
export async function bringAll(place, files, known, into) {
  const { sounding, passed } = wanted(files, known);
  if (!sounding.length) {
    say(`There is no recording among these: bring ${known.endings.join(" ")}.`, 20);
    return null;
  }
  const name = await into();
  let stopped = false;
  const going = new Going("Recordings that are here", () => { stopped = true; });
  place.replaceChildren(going.place);
  going.place.focus();
  const came = { here: 0, instead: 0, failed: [] };
  let done = 0;
  for (const { file, called } of sounding) {
    if (stopped) break;
    going.tell(done, sounding.length, `Bringing ${done + 1} of ${sounding.length}: ${called}`);
    await one(name, file, called, { known, came });
    done += 1;
  }
  place.replaceChildren();
  lately.name = name;
  lately.lines = summary(came, passed, sounding.length - done);
  lately.wrong = came.failed.length > 0 || done < sounding.length;
  say(lately.lines[0], 20);
  return name;
}

async function one(name, file, called, { known, came }) {
  try {
    if (file.size > known.largest_bytes) throw new Sentence(`it is larger than ${Math.round(known.largest_bytes / 1e6)} MB, bring a shorter one`);
    const told = await bring(`/api/class/${name}/bring`, { called }, file);
    came.here += 1;
    if (told.instead) came.instead += 1;
  } catch (error) {
    came.failed.push(`${called}: ${error.message}`);
  }
}

function summary({ here, instead, failed }, passed, left) {
  const lines = [`${here} ${here === 1 ? "recording" : "recordings"} came.`];
  if (instead) lines.push(`${instead} of them ${instead === 1 ? "takes the place of an older one" : "take the place of older ones"} with the same name.`);
  if (left) lines.push(`You stopped: ${left} ${left === 1 ? "was" : "were"} not brought. Bring the same folder again for the rest.`);
  if (passed) lines.push(`${passed} ${passed === 1 ? "file that holds no recording was" : "files that hold no recording were"} passed over.`);
  lines.push(...failed.slice(0, MOST_SHOWN).map((each) => `Not brought: ${each}`));
  if (failed.length > MOST_SHOWN) lines.push(`And ${failed.length - MOST_SHOWN} more were not brought.`);
  return lines;
}
