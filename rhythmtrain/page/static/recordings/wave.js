// A recording drawn as its loudness along time, with what stands on it: bars, beats, the part that sounds.

import { make } from "../parts.js";

const INK = "#6b6455";

export class Wave {
  // `peaks` are numbers from 0 to 1, evenly along `fromS` to `toS`.
  constructor(words, height = 110) {
    this.canvas = make("canvas", { role: "img", "aria-label": words, height });
    this.over = make("div", { class: "over" });
    this.place = make("div", { class: "wave" }, this.canvas, this.over);
    new ResizeObserver(() => this.draw()).observe(this.place);
  }

  show(peaks, fromS, toS) {
    Object.assign(this, { peaks, fromS, toS });
    this.draw();
  }

  xOf(seconds) {
    return ((seconds - this.fromS) / (this.toS - this.fromS)) * this.place.clientWidth;
  }

  secondAt(x) {
    return this.fromS + (x / this.place.clientWidth) * (this.toS - this.fromS);
  }

  draw() {
    if (!this.peaks) return;
    const ratio = window.devicePixelRatio || 1;
    const [wide, high] = [this.place.clientWidth, this.place.clientHeight];
    this.canvas.width = wide * ratio;
    this.canvas.height = high * ratio;
    const pen = this.canvas.getContext("2d");
    pen.scale(ratio, ratio);
    pen.fillStyle = INK;
    for (let x = 0; x < wide; x += 1) {
      const low = Math.floor((x / wide) * this.peaks.length);
      const past = Math.max(low + 1, Math.floor(((x + 1) / wide) * this.peaks.length));
      let peak = 0;
      for (let k = low; k < past && k < this.peaks.length; k += 1) peak = Math.max(peak, this.peaks[k]);
      const tall = Math.max(1, peak * (high - 8));
      pen.fillRect(x, (high - tall) / 2, 1, tall);
    }
    if (this.onlay) this.onlay();
  }
}

// The loudness of a decoded sound, from 0 to 1, in `many` steps.
export function peaksOf(buffer, many = 1200) {
  const samples = buffer.getChannelData(0);
  const peaks = new Float32Array(many);
  let most = 1e-6;
  for (let k = 0; k < many; k += 1) {
    const [low, past] = [Math.floor((k / many) * samples.length), Math.floor(((k + 1) / many) * samples.length)];
    for (let at = low; at < past; at += 8) peaks[k] = Math.max(peaks[k], Math.abs(samples[at]));
    most = Math.max(most, peaks[k]);
  }
  return peaks.map((peak) => peak / most);
}
