// What is played to a track, sent to the program as it comes: taps with the time of their event,
// readings of the two clocks, or the microphone's samples with their frames.  Nothing is judged here.

import { bring, leave, leaveSound, post } from "./ask.js";
import { audio } from "./player.js";

// So often, that what a microphone heard since the last time still goes into one farewell (64 KiB).
const SEND_EVERY_MS = 300;
const READ_EVERY_MS = 60;
const TAIL_S = 0.5;
const NOT_CLAPS = new Set(["Tab", "Escape", "Shift", "Control", "Alt", "Meta", "CapsLock", "OS"]);

export class Clapping {
  // `onclap` is told the second of the track, as far as it is known at once, for showing only.
  constructor(player, { source, kind, aloud, pad, onclap }) {
    Object.assign(this, { player, source, kind, aloud, pad, onclap });
    this.taps = [];
    this.clock = [];
    this.changes = 0;
    this.parts = [];
    this.packed = 0;
    this.sound = [];
    this.done = false;
  }

  // A microphone is heard a little longer: what sounds last is on its way still.
  get tailS() {
    return this.source === "mic" ? TAIL_S : 0;
  }

  async open() {
    if (this.source === "mic") await this.openMicrophone();
    if (this.source === "midi") await this.openMidi();
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
    this.sending = setInterval(() => this.send(), SEND_EVERY_MS);
    this.reading = setInterval(() => this.read(), READ_EVERY_MS);
    this.onhide = () => this.abandon();
    window.addEventListener("pagehide", this.onhide);
  }

  listen() {
    this.handlers = [];
    const on = (target, name, handler, options) => {
      target.addEventListener(name, handler, options);
      this.handlers.push(() => target.removeEventListener(name, handler, options));
    };
    if (this.source === "keys") {
      on(window, "keydown", (event) => this.key(event, false), true);
      on(window, "keyup", (event) => this.key(event, true), true);
    }
    if (this.source === "keys" || this.source === "touch") {
      on(this.pad, "pointerdown", (event) => {
        event.preventDefault();
        this.tap(event.timeStamp, `pointer ${event.pointerId}`, false);
      });
      on(this.pad, "pointerup", (event) => this.tap(event.timeStamp, `pointer ${event.pointerId}`, true));
    }
    if (this.source === "midi") {
      for (const input of this.midi.inputs.values()) {
        on(input, "midimessage", (event) => this.note(event));
      }
    }
  }

  key(event, released) {
    if (NOT_CLAPS.has(event.key) || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    if (!event.repeat) this.tap(event.timeStamp, event.code || event.key, released);
  }

  note(event) {
    const [status, note, velocity] = event.data;
    const kind = status & 0xf0;
    if (kind !== 0x90 && kind !== 0x80) return;
    const released = kind === 0x80 || velocity === 0;
    this.tap(event.timeStamp, String(note), released, released ? null : velocity);
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

  async send() {
    if (this.busy) return;
    this.busy = true;
    try {
      await this.sendSound();
      const parts = this.pack();
      if (parts.length) await post(`/api/take/${this.take}/on`, { parts });
      this.parts = this.parts.filter((each) => !parts.includes(each));
    } catch {
      // It is all here still, and goes with the next.
    } finally {
      this.busy = false;
    }
  }

  close() {
    this.done = true;
    clearInterval(this.sending);
    clearInterval(this.reading);
    this.handlers.forEach((off) => off());
    window.removeEventListener("pagehide", this.onhide);
    if (this.stream) this.stream.getTracks().forEach((each) => each.stop());
    if (this.recorder) this.recorder.disconnect();
  }

  // Ends the take and returns what was heard.
  async end(stopped, way = `/api/take/${this.take}/end`) {
    this.read();
    this.close();
    await this.sendSound();
    return post(way, { take: this.take, stopped, parts: this.pack() });
  }

  // The page closes in the middle: what came until now goes with the farewell, and the take ends there.
  abandon() {
    if (this.done) return;
    this.close();
    const end = `/api/take/${this.take}/end`;
    const parts = this.pack();
    const runs = runsOf(this.sound);
    if (!runs.length) {
      leave(end, { stopped: true, parts });
      return;
    }
    const last = runs.pop();
    leave(`/api/take/${this.take}/on`, { parts });
    runs.forEach(({ frame, samples }) => leaveSound(`/api/take/${this.take}/sound`, { frame }, samples));
    if (!leaveSound(end, { stopped: true, frame: last.frame }, last.samples)) leave(end, { stopped: true });
  }

  async openMidi() {
    if (!navigator.requestMIDIAccess) throw new Error("This browser hears no MIDI: use the keys, or another browser.");
    this.midi = await navigator.requestMIDIAccess();
    if (!this.midi.inputs.size) throw new Error("No MIDI keyboard or pad is connected: plug it in and try again.");
  }

  async openMicrophone() {
    const sounds = audio();
    await sounds.audioWorklet.addModule("/static/recorder.js");
    // The browser's own clearing cuts claps away; the program takes the loudspeaker out itself.
    const plain = { echoCancellation: false, noiseSuppression: false, autoGainControl: false, channelCount: 1 };
    try {
      this.stream = await navigator.mediaDevices.getUserMedia({ audio: plain });
    } catch {
      throw new Error("The microphone was not allowed, or there is none: allow it for this page in the browser's address bar.");
    }
    const input = sounds.createMediaStreamSource(this.stream);
    this.recorder = new AudioWorkletNode(sounds, "recorder", { numberOfInputs: 1, numberOfOutputs: 0 });
    this.recorder.port.onmessage = (event) => this.sound.push(event.data);
    input.connect(this.recorder);
  }

  async sendSound() {
    if (!this.take) return;
    for (const { frame, samples, batches } of runsOf(this.sound)) {
      await bring(`/api/take/${this.take}/sound`, { frame }, samples.buffer);
      this.sound = this.sound.filter((each) => !batches.includes(each));
    }
  }
}

// Batches that follow each other without a gap, as one run each, with the batches that went into it.
function runsOf(batches) {
  const runs = [];
  let next = null;
  for (const each of batches) {
    if (each.frame === next) runs[runs.length - 1].push(each);
    else runs.push([each]);
    next = each.frame + each.samples.length;
  }
  return runs.map((run) => {
    const samples = new Float32Array(run.reduce((sum, each) => sum + each.samples.length, 0));
    run.forEach((each) => samples.set(each.samples, each.frame - run[0].frame));
    return { frame: run[0].frame, samples, batches: run };
  });
}
