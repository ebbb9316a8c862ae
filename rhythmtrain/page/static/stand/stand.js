// The music stand: the notes, the count beside them, the pad under the hand.  A track plays on it, the
// bar that sounds is framed, what is clapped goes to the program as a take; whatever ends it, the place
// at which one stands is told once.

import { lasts } from "../calm.js";
import { Clapping } from "../listening/clapping.js";
import { Counting } from "./counting.js";
import { isClap } from "../listening/keys.js";
import { make } from "../parts.js";
import { Player } from "../sound/player.js";
import { Sheet, wantedWidth } from "./sheet.js";

const WATCH_EVERY_MS = 250;
// A clap or two too many press no button.
const SETTLES_MS = 1000;

class Left extends Error {}

export class Stand {
  // `asks` stands on the pad, `notes` names the notes for whoever hears the page.  `indexOf` tells which
  // drawn bar a bar of the track is, null where it is none.  `onstate` is told "still", "making" or
  // "playing"; `onend` the take that was clapped, null without one, and whether the track came to its end.
  // What is heard of one time through, where it comes round, stands beside the pad.
  constructor({ asks, notes = null, onstate, onend, indexOf = (bar) => bar.index, onstep = () => {}, onchoose = null }) {
    Object.assign(this, { onstate, onend, indexOf, onstep });
    this.player = new Player({ onend: (finished) => this.ended(finished) });
    this.pad = make("button", { class: "pad", hidden: true, type: "button" }, asks);
    this.round = make("p", { class: "round", role: "status", hidden: true });
    this.counting = new Counting();
    this.place = make("div", { role: "group", "aria-label": notes });
    this.sheet = new Sheet(this.place, { onchoose, seen: () => this.seen() });
    this.clapping = null;
    this.settled = 0;
    this.onkey = (event) => this.key(event);
    for (const name of ["keydown", "keyup"]) window.addEventListener(name, this.onkey, true);
  }

  get width() {
    return wantedWidth(this.place);
  }

  // What one presses here, with the pad under it.
  acting(...buttons) {
    this.act = make("div", { class: "act" }, make("div", { class: "row" }, buttons), this.round, this.pad);
    return this.act;
  }

  // Between which heights of the window the notes can be seen: under the count, above what one presses.
  seen() {
    const count = this.counting.place.getBoundingClientRect();
    const place = this.place.getBoundingClientRect();
    const over = count.width && count.left < place.right && count.right > place.left;
    return [over ? Math.max(0, count.bottom) : 0, this.act ? Math.min(this.act.getBoundingClientRect().top, window.innerHeight) : window.innerHeight];
  }

  get playing() {
    return this.player.playing;
  }

  key(event) {
    if (event.type === "keydown" && event.key === "Escape") this.stop();
    if (performance.now() < this.settled && isClap(event)) {
      event.preventDefault();
      event.stopPropagation();
    }
  }

  // Plays the track that `making` brings; `heard` tells with what a person claps to it, null with nothing.
  async play(making, { heard = () => null, loop = false } = {}) {
    if (this.making || this.playing) return;
    this.making = true;
    this.onstate("making");
    try {
      await this.begin(making, heard, loop);
    } catch (error) {
      this.drop();
      this.onstate("still");
      if (!(error instanceof Left)) throw error;
      return;
    } finally {
      this.making = false;
    }
    this.onstate("playing");
    this.pad.hidden = !this.clapping || this.clapping.source !== "keys";
    if (!this.pad.hidden) this.pad.focus({ preventScroll: true });
    this.times = 0;
    this.round.hidden = !this.clapping || !this.track.loop;
    this.round.textContent = "";
    this.watching = setInterval(() => this.watch(), WATCH_EVERY_MS);
    this.step();
  }

  async begin(making, heard, loop) {
    this.track = await making();
    this.here();
    this.sheet.lane.clear();
    this.counting.begin(this.track);
    const source = heard(this.track);
    if (source) {
      this.sheet.lane.open();
      this.clapping = new Clapping(this.player, { ...source, pad: this.pad, onclap: (seconds) => this.showClap(seconds) });
      await this.clapping.open();
      this.here();
    }
    await this.player.start(this.track, { loop });
    this.here();
    if (this.clapping) await this.clapping.begin();
    if (!this.playing) throw new Left();
  }

  // Whoever went to another place meanwhile hears nothing of this one.
  here() {
    if (this.closed) throw new Left();
  }

  drop() {
    if (this.clapping) this.clapping.abandon();
    this.clapping = null;
    this.player.stop();
  }

  showClap(seconds) {
    const index = this.indexOf(this.track.barAt(seconds));
    if (index !== null) this.sheet.lane.add({ ...this.track.placeAt(seconds), index, clap: true, repeat: 1 });
  }

  step() {
    if (!this.playing) return;
    const { now } = this.player;
    const bar = this.track.barAt(now);
    this.sheet.setFrame(now < 0 || !lasts(bar) ? null : this.indexOf(bar));
    this.counting.show(now, this.player.timesThrough);
    this.onstep(bar);
    if (this.clapping && this.player.timesThrough > this.times) this.tellRound(this.player.timesThrough);
    this.watch();
    this.drawing = requestAnimationFrame(() => this.step());
  }

  // What was heard of the time through that is over is said in the counted bar after it, while all goes on.
  async tellRound(times) {
    const { clapping } = this;
    this.times = times;
    this.sheet.lane.open();
    const words = await clapping.heardOf(times);
    if (clapping === this.clapping) this.round.textContent = words;
  }

  // Also where nothing is drawn, as behind another window, a track ends.
  watch() {
    if (this.player.endedFor(this.clapping ? this.clapping.tailS : 0)) this.player.stop(true);
  }

  stop() {
    this.player.stop(false);
  }

  ended(finished) {
    clearInterval(this.watching);
    cancelAnimationFrame(this.drawing);
    this.sheet.setFrame(null);
    this.counting.clear();
    this.pad.hidden = true;
    this.round.hidden = true;
    if (this.making) return;
    const { clapping } = this;
    this.clapping = null;
    if (clapping) this.settled = performance.now() + SETTLES_MS;
    if (this.closed) return;
    this.onstate("still");
    this.onend(clapping, finished);
  }

  close() {
    this.closed = true;
    for (const name of ["keydown", "keyup"]) window.removeEventListener(name, this.onkey, true);
    this.drop();
  }
}
