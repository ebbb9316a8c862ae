// Asking the program: one document each way, and one sentence where something cannot be done.

export class Sentence extends Error {}

async function answered(response) {
  const kind = response.headers.get("content-type") || "";
  if (!response.ok) {
    const told = kind.includes("json") ? (await response.json()).sentence : await response.text();
    throw new Sentence(told || `The program could not answer (${response.status}): reload the page.`);
  }
  return kind.includes("json") ? response.json() : response.arrayBuffer();
}

async function sent(path, options) {
  try {
    return await answered(await fetch(path, options));
  } catch (error) {
    if (error instanceof Sentence) throw error;
    throw new Sentence("The program does not answer any more. Start it again with rhythmtrain open; what you played until now is kept.");
  }
}

function query(values) {
  const known = Object.entries(values).filter(([, value]) => value !== null && value !== undefined && value !== "");
  return new URLSearchParams(known.map(([key, value]) => [key, String(value)])).toString();
}

export function get(path, values = {}) {
  const asked = query(values);
  return sent(asked ? `${path}?${asked}` : path);
}

export function post(path, values = {}) {
  return sent(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(values) });
}

export function bring(path, values, body) {
  return sent(`${path}?${query(values)}`, { method: "POST", headers: { "content-type": "application/octet-stream" }, body });
}

// What is sent while the page closes: it does not wait for an answer.  False where it is too much: a
// browser takes 64 KiB of all that is on its way then (W3C Beacon, WHATWG Fetch).
const MOST_BYTES = 64 * 1024;

export function leave(path, values) {
  return navigator.sendBeacon(path, new Blob([JSON.stringify(values)], { type: "application/json" }));
}

// One farewell with a document and sound, `runs` of {frame, samples}: all of it arrives or nothing does,
// and nothing of it crosses the rest.  What does not fit any more, the last of the sound, is lost.
export function leaveSound(path, values, told, runs) {
  const sound = [];
  const pieces = [];
  const words = () => new Blob([`${JSON.stringify({ ...told, sound })}\n`]);
  let room = MOST_BYTES - words().size;
  for (const { frame, samples } of runs) {
    const row = [frame, samples.length];
    room -= JSON.stringify(row).length + 1;
    row[1] = Math.min(samples.length, Math.floor(room / samples.BYTES_PER_ELEMENT));
    if (row[1] <= 0) break;
    sound.push(row);
    pieces.push(samples.subarray(0, row[1]));
    room -= row[1] * samples.BYTES_PER_ELEMENT;
  }
  return navigator.sendBeacon(`${path}?${query(values)}`, new Blob([words(), ...pieces], { type: "application/octet-stream" }));
}
