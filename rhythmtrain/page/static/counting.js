// One large number beside the notes: the count that is now, and in words which bar it is.
// It changes three times a second at most (WCAG 2.3.1): where beats come faster only the first of a bar is shown.

import { make } from "./parts.js";

const SHORTEST_S = 1 / 3;

export class Counting {
  constructor() {
    this.number = make("div", { class: "number" });
    this.where = make("div", { class: "where" });
    this.place = make("div", { class: "count", "aria-hidden": "true" }, this.number, this.where);
  }

  begin(track) {
    this.track = track;
    this.clear();
  }

  shownBeats(bar) {
    const times = [...bar.beats.map((beat) => beat.time_s), bar.stop_s];
    const quick = times.some((time, k) => k && time - times[k - 1] < SHORTEST_S);
    if (bar.stop_s - bar.start_s < SHORTEST_S) return [];
    return quick ? bar.beats.slice(0, 1) : bar.beats;
  }

  show(now) {
    if (now < 0 || localStorage.getItem("still") === "yes") return;
    const bar = this.track.barAt(now);
    const begun = this.shownBeats(bar).filter((beat) => beat.time_s <= now);
    const said = begun.length ? begun[begun.length - 1].say : "";
    if (this.number.textContent !== said) this.number.textContent = said;
    const words = bar.in_words + (bar.run > 1 ? `, time ${bar.run}` : "");
    if (this.where.textContent !== words) this.where.textContent = words;
  }

  clear() {
    this.number.textContent = "";
    this.where.textContent = "";
  }
}
