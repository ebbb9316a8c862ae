// What was heard in a take, as the program says it: words first, then the places, then what can wait.

import { get } from "../ask.js";
import { make, trying } from "../parts.js";
import { fromChosen } from "../sound/player.js";
import { barsInWords } from "../wishes/wishing.js";

let playing = null;

const hear = (answer, bar) => trying(async () => {
  if (playing) playing.pause();
  const sound = await get(`/api/heard/${answer.heard}/bar/${bar}`);
  playing = fromChosen(new Audio(URL.createObjectURL(new Blob([sound], { type: "audio/mpeg" }))));
  await playing.play();
});

const table = (words, rows) => (rows.length ? make("table", {}, make("caption", { class: "quiet" }, words), make("tbody", {}, rows)) : "");

function placeByPlace(answer) {
  const first = new Set();
  return answer.rows.map((row) => {
    const fresh = !first.has(row.bar);
    first.add(row.bar);
    return make("tr", {},
      make("td", { class: "shape", "aria-hidden": "true" }, row.shape),
      make("th", { scope: "row" }, row.place), make("td", {}, row.what),
      make("td", { class: "hear" }, fresh ? make("button", { onclick: hear(answer, row.bar) }, `hear bar ${row.bar}`) : ""));
  });
}

// `again` plays it once more, `only` the bars that want another look, slower; `own` goes on to one's own
// rhythm where this was the accompanist's.
export function told(answer, { again, only, own = null }) {
  const entries = answer.entries.map((each) => make("tr", {}, make("th", { scope: "row" }, each.place), make("td", {}, each.went), make("td", {}, each.after)));
  const said = answer.said.map(([label, words], k) => [
    make("dt", {}, label), make("dd", { class: label === "First" || (k === 0 && answer.said.length === 1) ? "first" : null }, words)]);
  return make("div", {},
    make("h2", {}, own ? "What was heard of the accompanist’s rhythm" : "What was heard"),
    make("p", { class: "quiet" }, `${answer.passage}, ${answer.pace}.`),
    make("dl", { class: "said" }, said),
    make("div", { class: "row" },
      own ? make("button", { class: "main", onclick: own }, "Now your own") : "",
      make("button", { class: own ? null : "main", onclick: again }, "Again"),
      only ? make("button", { onclick: only }, `Only ${barsInWords(...answer.amiss)}, slower`) : "",
      make("a", { href: `/api/heard/${answer.heard}/report`, target: "_blank", rel: "noopener" }, "The whole report")),
    table("Entries", entries), table("Place by place", placeByPlace(answer)),
    answer.lane.length ? make("p", { class: "quiet" }, "Under the notes: ◀ early, ▶ late, ○ not heard, × too many, · in time or near.") : "",
    answer.notes.map((line) => make("p", {}, line)),
    make("details", {}, make("summary", {}, "How finely this is known"), answer.print.map((line) => make("p", { class: "quiet" }, line))),
  );
}
