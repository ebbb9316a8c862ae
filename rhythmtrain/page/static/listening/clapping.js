// What is played to a track, sent to the program as it comes: taps with the time of their event,
// readings of the two clocks, or the microphone's samples with their frames.  Nothing is judged here.

import { leave, post } from "../ask.js";
import { isClap } from "./keys.js";
import { Microphone } from "./microphone.js";
import { MidiIn } from "./midi.js";
import { say } from "../parts.js";
import { audio } from "../sound/player.js";

const SEND_EVERY_MS = 300;
const READ_EVERY_MS = 60;
const TAIL_S = 0.5;
const SAID_S = 20;

export class Clapping {
  // `onclap` is told the second of the track, as far as it is known at once, for showing only.
  constructor(player, { source, kind, aloud, device, pad, onclap }) {
    Object.assign(this, { player, source, kind, aloud, pad, onclap });
    this.taps = [];
    this.clock = [];
    this.changes = 0;
    this.parts = [];
    this.packed = 0;
    this.handlers = [];
    this.done = false;
    if (source === "mic") this.microphone = new Microphone(device);
    if (source === "midi") this.midi = new MidiIn(device);
  }

  // A microphone is heard a little longer: what sounds last is on its way still.
  get tailS() {
    return this.microphone ? TAIL_S : 0;
  }

  async open() {
    if (this.microphone) await this.microphone.open(() => this.lost("The microphone", false));
    if (this.midi) await this.midi.open();
  }

  // Begins the take; the track must be playing.
  async begin() {
    const told = await post("/api/take", {
      track: this.player.track.track, source: this.source, kind: this.kind, aloud: this.aloud,
      start_s: this.player.startS, levels: this.player.changes,
    });
    this.take = told.take;
    this.changes = this.player.changes.length;
    this.listen();
    if (this.microphone) this.microphone.begin(this.take);
    this.sending = setInterval(() => this.send(), SEND_EVERY_MS);
    this.reading = setInterval(() => this.read(), READ_EVERY_MS);
    this.on(window, "pagehide", () => this.abandon());
  }

  on(target, name, handler, options) {
    target.addEventListener(name, handler, options);
    this.handlers.push(() => target.removeEventListener(name, handler, options));
  }

  listen() {
    if (this.midi) {
      this.midi.listen({ ontap: (stampMs, what, hard) => this.tap(stampMs, what, hard === null, hard), onlost: (name, left) => this.lost(name, left) });
    }
    if (this.source === "keys") {
      this.on(window, "keydown", (event) => this.key(event, false), true);
      this.on(window, "keyup", (event) => this.key(event, true), true);
    }
    if (this.source === "keys" || this.source === "touch") {
      this.on(this.pad, "pointerdown", (event) => {
        event.preventDefault();
        this.tap(event.timeStamp, `pointer ${event.pointerId}`, false);
      });
      this.on(this.pad, "pointerup", (event) => this.tap(event.timeStamp, `pointer ${event.pointerId}`, true));
    }
  }

  // What one plays with was unplugged: what was played until then counts, and nothing after is missed.
  lost(name, left) {
    if (this.done) return;
    say(left ? `${name} was unplugged: what is still plugged in is heard.` : `${name} was unplugged: what you played until then counts. Plug it in and begin again.`, SAID_S);
    if (!left) this.player.stop();
  }

  key(event, released) {
    if (!isClap(event)) return;
    event.preventDefault();
    if (!event.repeat) this.tap(event.timeStamp, event.code || event.key, released);
  }

  tap(stampMs, what, released, velocity = null) {
    if (this.done) return;
    this.taps.push([stampMs / 1000, what, released, velocity]);
    if (!released) this.onclap(this.player.now - (performance.now() - stampMs) / 1000);
  }

  read() {
    const stamp = audio().getOutputTimestamp();
    if (stamp.contextTime > 0 && stamp.performanceTime > 0) this.clock.push([stamp.contextTime, stamp.performanceTime / 1000]);
  }

  // What came since the last part becomes a part of its own.  A part stays here until the program has
  // it; it may arrive twice, and is counted once by its number.
  pack() {
    const levels = this.player.changes.slice(this.changes);
    this.changes = this.player.changes.length;
    if (this.taps.length || this.clock.length || levels.length) {
      this.parts.push({ part: this.packed, taps: this.taps, clock: this.clock, levels });
      this.packed += 1;
    }
    this.taps = [];
    this.clock = [];
    return [...this.parts];
  }

  // One request at a time: what is on its way when the take ends arrives before its end.
  send() {
    if (!this.underway) this.underway = this.sendParts().finally(() => { this.underway = null; });
  }

  async sendParts() {
    const parts = this.pack();
    if (!parts.length) return;
    try {
      await post(`/api/take/${this.take}/on`, { parts });
      this.parts = this.parts.filter((each) => !parts.includes(each));
    } catch {
      // It is all here still, and goes with the next.
    }
  }

  // What was heard of the `round`-th time through, in words; nothing where that cannot be told now.
  async heardOf(round) {
    this.read();
    await this.underway;
    this.send();
    await this.underway;
    if (this.microphone) await this.microphone.finish().catch(() => null);
    try {
      return (await post(`/api/take/${this.take}/round`, { round })).said;
    } catch {
      return "";
    }
  }

  close() {
    this.done = true;
    clearInterval(this.sending);
    clearInterval(this.reading);
    this.handlers.forEach((off) => off());
    if (this.midi) this.midi.close();
    if (this.microphone) this.microphone.close();
  }

  // Ends the take and returns what was heard.
  async end(stopped, way = `/api/take/${this.take}/end`) {
    this.read();
    this.close();
    await this.underway;
    if (this.microphone) await this.microphone.finish();
    return post(way, { take: this.take, stopped, parts: this.pack() });
  }

  // The page closes in the middle, or what was to begin does not: what came until now goes with the
  // farewell, and the take ends there.
  abandon() {
    if (this.done) return;
    this.close();
    if (!this.take) return;
    const parts = this.pack();
    if (this.microphone && this.microphone.leave(parts)) return;
    leave(`/api/take/${this.take}/end`, { stopped: true, parts });
  }
}
