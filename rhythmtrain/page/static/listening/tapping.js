// Tapping the beats of a recording while it plays: each tap with the time of its event, and readings of
// the two clocks, from which the program knows what second of the recording was heard.

import { isClap } from "./keys.js";
import { make } from "../parts.js";
import { audio } from "../sound/player.js";

const READ_EVERY_MS = 60;

export class TapAlong {
  // `onend` is called when Escape says that it is done.
  constructor(sound, onend) {
    Object.assign(this, { sound, onend, on: false });
    this.pad = make("button", { class: "pad", hidden: true, type: "button" }, "Tap every beat here: any key, or touch. Escape when it is done.");
    this.pad.addEventListener("pointerdown", (event) => this.tap(event));
  }

  async begin(fromS) {
    await this.sound.play(fromS);
    this.taps = [];
    this.clock = [];
    this.on = true;
    this.pad.hidden = false;
    this.pad.focus();
    this.reading = setInterval(() => this.read(), READ_EVERY_MS);
  }

  read() {
    const stamp = audio().getOutputTimestamp();
    if (stamp.contextTime > 0 && stamp.performanceTime > 0) this.clock.push([stamp.contextTime, stamp.performanceTime / 1000]);
  }

  tap(event) {
    if (this.on) this.taps.push(event.timeStamp / 1000);
  }

  key(event) {
    if (event.key === "Escape") this.onend();
    if (!isClap(event)) return;
    event.preventDefault();
    if (!event.repeat) this.tap(event);
  }

  // Ends it and returns what was tapped, as the program takes it.
  end() {
    clearInterval(this.reading);
    this.on = false;
    this.pad.hidden = true;
    const tapped = { tapped: this.taps, clock: this.clock, start_s: this.sound.startS, from_s: this.sound.fromS };
    this.sound.silence();
    return tapped;
  }
}
