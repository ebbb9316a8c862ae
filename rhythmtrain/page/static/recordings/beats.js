// The beats of a recording on its sound: seen closer and wider, chosen, moved.  What was moved is a mark
// from which the program works all of them out again.

import { Wave } from "./wave.js";
import { make } from "../parts.js";

const SHORTEST_VIEW_S = 1;
const AROUND_S = 2;

const nameOf = (beat) => (beat.beat === 1 ? String(beat.bar) : `${beat.bar}.${beat.beat}`);

export class Beats {
  // `onchoose` is told the beat that was chosen; `onpoint` the second that was pointed at where there are none yet.
  constructor({ onchoose, onpoint }) {
    Object.assign(this, { onchoose, onpoint, all: [], unsure: new Set(), chosen: 0, beginS: 0 });
    this.marks = new Map();
    this.drawn = new Wave("The recording along its time");
    this.drawn.onlay = () => this.lay();
    this.place = this.drawn.place;
    this.place.addEventListener("click", (event) => this.point(event));
  }

  get beat() {
    return this.all[this.chosen];
  }

  // The marks as one types them: "17.2=21.730".
  get marked() {
    return [...this.marks].map(([name, seconds]) => `${name}=${seconds.toFixed(3)}`);
  }

  showSound(wave) {
    this.wave = wave;
    this.view(0, wave.duration_s);
  }

  show(beats, unsureBars) {
    this.all = beats;
    this.unsure = new Set(unsureBars);
    if (beats.length) {
      this.view(beats[0].time_s - AROUND_S, beats[beats.length - 1].time_s + AROUND_S);
      this.choose(this.chosen);
    }
    this.lay();
  }

  view(fromS, toS) {
    const { duration_s: whole, peaks } = this.wave;
    const length = Math.max(SHORTEST_VIEW_S, Math.min(toS - fromS, whole));
    this.fromS = Math.max(0, Math.min(fromS, whole - length));
    this.toS = this.fromS + length;
    const per = peaks.length / whole;
    this.drawn.show(peaks.slice(Math.floor(this.fromS * per), Math.ceil(this.toS * per)), this.fromS, this.toS);
  }

  around(middle, length) {
    this.view(middle - length / 2, middle + length / 2);
  }

  zoom(by) {
    this.around(this.beat ? this.beat.time_s : this.beginS, (this.toS - this.fromS) * by);
  }

  slide(by) {
    const shift = (this.toS - this.fromS) * by;
    this.view(this.fromS + shift, this.toS + shift);
  }

  begin(seconds) {
    this.beginS = seconds;
    this.lay();
  }

  lay() {
    const lines = this.all.map((beat, k) => {
      const first = beat.beat === 1;
      const line = this.line(beat.time_s, first ? "beat first" : "beat", first ? `${beat.bar}${this.unsure.has(beat.bar) ? " ?" : ""}` : "");
      line.classList.toggle("chosen-beat", k === this.chosen);
      line.classList.toggle("moved", this.marks.has(nameOf(beat)));
      return line;
    });
    this.drawn.over.replaceChildren(this.line(this.beginS, "begin", make("b", {}, "begin")), ...lines);
  }

  line(seconds, kind, words) {
    const line = make("span", { class: kind, hidden: seconds < this.fromS || seconds > this.toS }, words);
    line.style.left = `${this.drawn.xOf(seconds)}px`;
    return line;
  }

  point(event) {
    const seconds = this.drawn.secondAt(event.clientX - this.place.getBoundingClientRect().left);
    const away = this.all.map((beat) => Math.abs(beat.time_s - seconds));
    if (away.length) this.choose(away.indexOf(Math.min(...away)));
    else this.onpoint(Math.max(0, seconds));
  }

  choose(k) {
    if (!this.all.length) return;
    this.chosen = Math.max(0, Math.min(k, this.all.length - 1));
    const { time_s: at } = this.beat;
    if (at < this.fromS || at > this.toS) this.around(at, this.toS - this.fromS);
    this.lay();
    this.onchoose(this.beat);
  }

  step(by) {
    this.choose(this.chosen + by);
  }

  moveTo(seconds) {
    this.beat.time_s = Math.max(0, seconds);
    this.marks.set(nameOf(this.beat), this.beat.time_s);
    this.choose(this.chosen);
  }
}
