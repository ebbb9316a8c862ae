// One large number beside the notes: the count that is now, and in words which bar it is.  Where beats
// come too fast to be shown one by one only the first of a bar is, and bars that are too short are not.

import { SHORTEST_S, lasts, still } from "../calm.js";
import { make } from "../parts.js";

export class Counting {
  constructor() {
    this.number = make("div", { class: "number" });
    this.where = make("div", { class: "where" });
    this.place = make("div", { class: "count idle", "aria-hidden": "true" }, this.number, this.where);
  }

  begin(track) {
    this.track = track;
    this.clear();
    this.place.classList.toggle("idle", still());
  }

  shownBeats(bar) {
    if (!lasts(bar)) return [];
    const times = [...bar.beats.map((beat) => beat.time_s), bar.stop_s];
    const quick = times.some((time, k) => k && time - times[k - 1] < SHORTEST_S);
    return quick ? bar.beats.slice(0, 1) : bar.beats;
  }

  // `through` is how often what comes round is over.
  show(now, through = 0) {
    if (now < 0 || still()) return;
    const bar = this.track.barAt(now);
    const begun = this.shownBeats(bar).filter((beat) => beat.time_s <= now);
    const said = begun.length ? begun[begun.length - 1].say : "";
    if (this.number.textContent !== said) this.number.textContent = said;
    const time = this.track.loop ? through + 1 : bar.run;
    const words = lasts(bar) ? bar.in_words + (bar.run && time > 1 ? `, time ${time}` : "") : "";
    if (this.where.textContent !== words) this.where.textContent = words;
  }

  clear() {
    this.place.classList.add("idle");
    this.number.textContent = "";
    this.where.textContent = "";
  }
}
