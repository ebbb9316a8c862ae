// Bringing a file, with the field or by dropping it anywhere on the page: the program says what it is,
// and the page goes where one does something with it.

import { bring } from "../ask.js";
import { labelled, make, say, trying } from "../parts.js";

async function bytesOf(file) {
  try {
    return await file.arrayBuffer();
  } catch {
    throw new Error(`${file.name} cannot be read: bring single files, no folder; a class has a place of its own.`);
  }
}

const brought = trying(async (files) => {
  let told = null;
  for (const file of files) {
    say(`Reading ${file.name} …`, 60);
    told = await bring("/api/bring", { file: file.name }, await bytesOf(file));
  }
  say("");
  if (told) location.hash = told.place === "recording" ? `recording//${new URLSearchParams({ name: told.name, fresh: true })}` : `practise/${encodeURIComponent(told.name)}`;
});

export function bringing(words) {
  const field = make("input", { type: "file", onchange: () => brought([...field.files]) });
  return labelled(words, field);
}

export function takeDrops() {
  document.addEventListener("dragover", (event) => event.preventDefault());
  document.addEventListener("drop", (event) => {
    event.preventDefault();
    brought([...event.dataTransfer.files]);
  });
}
