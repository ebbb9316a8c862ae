// The recording under an entry: its sound along time, its bars, and where one comes in.

import { lasts, still } from "../calm.js";
import { make } from "../parts.js";
import { Wave, peaksOf } from "../recordings/wave.js";

export class EntryWave {
  constructor() {
    this.wave = new Wave("The recording, with its bars");
    this.wave.place.hidden = true;
    this.wave.onlay = () => this.mark();
    this.place = this.wave.place;
    this.marks = [];
  }

  // Shows the recording of a track; nothing where it has none.
  show(track) {
    const recording = track.buffers.get("accompaniment");
    this.track = track;
    this.marks = [];
    this.place.hidden = !recording;
    if (recording) this.wave.show(peaksOf(recording), 0, recording.duration);
  }

  mark() {
    const { bars, entries_s: entries } = this.track;
    this.marks = bars.map((bar) => {
      const mark = make("span", { class: "bar" }, bar.index === null ? "" : String(bar.number));
      mark.style.left = `${this.wave.xOf(bar.start_s)}px`;
      mark.style.width = `${this.wave.xOf(bar.stop_s) - this.wave.xOf(bar.start_s)}px`;
      return mark;
    });
    const comings = entries.map((at) => {
      const mark = make("span", { class: "come" }, "you");
      mark.style.left = `${this.wave.xOf(at)}px`;
      return mark;
    });
    this.wave.over.replaceChildren(...this.marks, ...comings);
  }

  sounds(bar) {
    const now = lasts(bar) && !still() ? this.track.bars.indexOf(bar) : -1;
    this.marks.forEach((mark, k) => mark.classList.toggle("now", k === now));
  }
}
