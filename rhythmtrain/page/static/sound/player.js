// Playing a track: every layer is a source of its own on one audio clock, with its own level.

import { get } from "../ask.js";
import { say } from "../parts.js";

const LEAD_S = 0.3;
const GONE = "The loudspeaker that you chose is not there: the sound comes where the browser has it. Settings names the others.";
const GONE_S = 15;
// A clap on the last note may come so late.
const SETTLED_S = 0.2;
let context = null;

export function audio() {
  // The stems are made at 44 100 samples a second: a context of that rate plays them as they are.
  if (!context) {
    context = new AudioContext({ sampleRate: 44100, latencyHint: "interactive" });
    fromChosen(context);
  }
  return context;
}

// Has `sounding`, an audio context or element, sound from the loudspeaker that was chosen in the settings.
export function fromChosen(sounding) {
  const loudspeaker = localStorage.getItem("loudspeaker");
  if (loudspeaker && sounding.setSinkId) sounding.setSinkId(loudspeaker).catch(() => say(GONE, GONE_S));
  return sounding;
}

export class Track {
  constructor(told) {
    Object.assign(this, told);
    this.buffers = new Map();
  }

  async load() {
    const sounds = audio();
    await Promise.all(this.layers.map(async (layer) => {
      const bytes = await get(`/api/track/${this.track}/${layer}`);
      this.buffers.set(layer, await sounds.decodeAudioData(bytes));
    }));
    return this;
  }

  barAt(seconds) {
    let found = this.bars[0];
    for (const bar of this.bars) if (bar.start_s <= seconds + 1e-6) found = bar;
    return found;
  }

  // The place in the written bar at a second of the track, between its beats.
  placeAt(seconds) {
    const bar = this.barAt(seconds);
    const points = bar.beats.map((beat) => [beat.time_s, beat.at]);
    if (!points.length || points[0][0] > bar.start_s) points.unshift([bar.start_s, points.length ? points[0][1] - (points[0][0] - bar.start_s) : 0]);
    const last = points[points.length - 1];
    const step = points.length > 1 ? (last[1] - points[0][1]) / (last[0] - points[0][0]) : 1;
    points.push([bar.stop_s, last[1] + (bar.stop_s - last[0]) * step]);
    let at = points[0][1];
    for (let k = 0; k + 1 < points.length; k += 1) {
      const [[low, from], [high, to]] = [points[k], points[k + 1]];
      if (seconds >= low) at = from + ((seconds - low) / (high - low || 1)) * (to - from);
    }
    return { index: bar.index, at, quarters: points[points.length - 1][1], run: bar.run };
  }
}

export class Player {
  constructor({ onend }) {
    this.onend = onend;
    this.playing = false;
    this.gains = new Map();
    this.levels = new Map();
    this.changes = [];
  }

  setLevel(layer, gain) {
    this.levels.set(layer, gain);
    const node = this.gains.get(layer);
    if (node && this.playing) {
      node.gain.setValueAtTime(gain, audio().currentTime);
      this.changes.push([audio().currentTime, layer, gain]);
    }
  }

  levelOf(layer) {
    return this.levels.has(layer) ? this.levels.get(layer) : 1;
  }

  // The graph of a track in `sounds`, an audio context, from `startS` on; `loop` is what comes round of it, null for nothing.
  static graph(sounds, track, levelOf, startS, loop) {
    const gains = new Map();
    const sources = [];
    for (const [layer, buffer] of track.buffers) {
      const source = new AudioBufferSourceNode(sounds, { buffer });
      const gain = new GainNode(sounds, { gain: levelOf(layer) });
      source.connect(gain).connect(sounds.destination);
      if (loop) Object.assign(source, { loop: true, loopStart: loop.start_s, loopEnd: loop.stop_s });
      source.start(startS);
      gains.set(layer, gain);
      sources.push(source);
    }
    return { gains, sources };
  }

  // A track that was made to be clapped over and over comes round by itself, until its `duration_s`; with
  // `loop` one that was not does, after its count-in, for as long as one likes.
  async start(track, { loop = false } = {}) {
    const sounds = audio();
    await sounds.resume();
    this.track = track;
    this.loop = track.loop || (loop ? { start_s: track.count_in_s, stop_s: track.duration_s } : null);
    this.startS = sounds.currentTime + LEAD_S;
    this.changes = track.layers.map((layer) => [this.startS, layer, this.levelOf(layer)]);
    const graph = Player.graph(sounds, track, (layer) => this.levelOf(layer), this.startS, this.loop);
    this.gains = graph.gains;
    this.sources = graph.sources;
    this.playing = true;
    const longest = Math.max(track.duration_s, ...[...track.buffers.values()].map((buffer) => buffer.duration));
    this.endS = this.startS + longest;
    if (this.loop) this.endS = track.loop ? this.startS + track.duration_s : Infinity;
  }

  // How long it has been heard; below 0 before it begins.
  get heardS() {
    const sounds = audio();
    return sounds.currentTime - (sounds.outputLatency || sounds.baseLatency || 0) - this.startS;
  }

  // The second of the track that is heard now; below 0 before it begins.
  get now() {
    const heard = this.heardS;
    if (!this.loop || heard < this.loop.stop_s) return heard;
    return this.loop.start_s + ((heard - this.loop.start_s) % (this.loop.stop_s - this.loop.start_s));
  }

  // How often what comes round has been heard by now, from its first note to its last.
  get timesThrough() {
    if (!this.track.loop) return 0;
    const { start_s: start, stop_s: stop, first_over_s: over } = this.track.loop;
    return Math.max(0, Math.floor((this.heardS - over - SETTLED_S) / (stop - start)) + 1);
  }

  endedFor(seconds) {
    return this.playing && audio().currentTime > this.endS + seconds;
  }

  stop(finished = false) {
    if (!this.playing) return;
    this.playing = false;
    for (const source of this.sources) source.stop();
    this.gains = new Map();
    this.onend(finished);
  }
}
