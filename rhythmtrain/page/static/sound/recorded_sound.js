// A recording as it is heard while its bars are found: from any second on, alone or with clicks on its beats.

import { get } from "../ask.js";
import { audio } from "./player.js";

const LEAD_S = 0.4;
const CLICK = { first: 1800, other: 1200, gain: 0.35, softest: 0.001, lasts_s: 0.05 };

export class RecordedSound {
  // `onend` is called whenever it stops sounding.
  constructor(onend) {
    this.onend = onend;
    this.clicks = [];
  }

  async load(way) {
    this.buffer = await audio().decodeAudioData(await get(`${way}/sound`));
  }

  get sounds() {
    return Boolean(this.source);
  }

  // Plays from second `fromS` of the recording on; up to `untilS` where one is given.
  async play(fromS, untilS = null) {
    this.silence();
    const sounds = audio();
    await sounds.resume();
    this.startS = sounds.currentTime + LEAD_S;
    this.fromS = fromS;
    this.source = new AudioBufferSourceNode(sounds, { buffer: this.buffer });
    this.source.connect(sounds.destination);
    const { source } = this;
    source.onended = () => { if (this.source === source) this.silence(); };
    source.start(this.startS, fromS);
    if (untilS !== null) source.stop(this.startS + untilS - fromS);
  }

  // Plays from `fromS` to `untilS` with a click on each of `beats`: {time_s, beat}.
  async playWithClicks(beats, fromS, untilS) {
    await this.play(fromS, untilS);
    this.clicks = beats.filter((each) => each.time_s >= fromS && each.time_s < untilS).map((each) => this.click(each));
  }

  click(beat) {
    const sounds = audio();
    const at = this.startS + beat.time_s - this.fromS;
    const tone = new OscillatorNode(sounds, { frequency: beat.beat === 1 ? CLICK.first : CLICK.other });
    const gain = new GainNode(sounds, { gain: 0 });
    gain.gain.setValueAtTime(CLICK.gain, at);
    gain.gain.exponentialRampToValueAtTime(CLICK.softest, at + CLICK.lasts_s);
    tone.connect(gain).connect(sounds.destination);
    tone.start(at);
    tone.stop(at + CLICK.lasts_s);
    return tone;
  }

  silence() {
    const { source, clicks } = this;
    if (!source) return;
    this.source = null;
    this.clicks = [];
    source.stop();
    clicks.forEach((each) => each.stop());
    this.onend();
  }
}
