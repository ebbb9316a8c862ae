// A beat map of a recording: the few bars that matter first.  One taps along, sees the beats on the
// sound, moves one that is beside its place, hears clicks over the recording; the program solves.

import { bring, get, post } from "./ask.js";
import { choices, labelled, make, say, trying } from "./parts.js";
import { audio } from "./player.js";
import { Wave } from "./wave.js";

const READ_EVERY_MS = 60;
const LEAD_S = 0.4;
const NUDGE_S = 0.01;
const METRES = ["2/4", "3/4", "4/4", "2/2", "3/8", "6/8", "9/8", "12/8", "5/4", "5/8", "7/8"];

export async function recordingPlace(main, passage) {
  const place = new Mapping(main, passage);
  await place.open();
  return () => place.close();
}

class Mapping {
  constructor(main, passage) {
    this.main = main;
    this.passage = passage;
    this.beats = [];
    this.marks = new Map();
    this.kept = [];
    this.chosen = 0;
    this.onkey = (event) => this.key(event);
    window.addEventListener("keydown", this.onkey, true);
  }

  close() {
    window.removeEventListener("keydown", this.onkey, true);
    this.silence();
  }

  async open() {
    const told = await get("/api/recordings");
    const field = make("input", { type: "file", accept: "audio/*,video/*" });
    field.addEventListener("change", trying(async () => {
      if (!field.files.length) return;
      say("Reading the recording …");
      const kept = await bring("/api/recordings", { file: field.files[0].name }, await field.files[0].arrayBuffer());
      say("");
      await this.show(kept.name);
    }));
    this.main.replaceChildren(
      make("h1", {}, "Where the bars of a recording fall"),
      make("p", { class: "quiet" }, "The few bars that matter come first: bring the recorded accompaniment, tap the beats of four to eight bars once while it plays, and practise your entry over it."),
      make("div", { class: "row" }, labelled("Bring a recording", field)),
      told.recordings.length ? make("ul", { class: "list" }, told.recordings.map((each) => make("li", {},
        make("button", { class: "choice", onclick: () => trying(() => this.show(each.name))() }, make("b", {}, each.title), each.mapped ? "its beats are known" : "no beats yet")))) : "");
  }

  async show(name) {
    this.name = name;
    this.way = `/api/recording/${encodeURIComponent(name)}`;
    const [wave, kept, bytes] = await Promise.all([get(`${this.way}/wave`), get(`${this.way}/beats`), get(`${this.way}/sound`)]);
    this.sound = await audio().decodeAudioData(bytes);
    this.wave = wave;
    this.fromS = 0;
    this.lay();
    this.view(0, wave.duration_s);
    this.setBeats(kept);
  }

  lay() {
    this.drawn = new Wave("The recording along its time");
    this.drawn.onlay = () => this.overlay();
    this.drawn.place.addEventListener("click", (event) => this.point(event));
    this.from = make("input", { type: "number", min: 0, step: 0.1, value: 0 });
    this.from.addEventListener("change", () => { this.fromS = Number(this.from.value); this.overlay(); });
    this.bars = make("input", { type: "text", placeholder: "45-50", size: 7 });
    this.metre = "2/4";
    this.tap = make("button", { class: "main", onclick: () => trying(() => (this.tapping ? this.endTapping() : this.beginTapping()))() }, "Tap along");
    this.hear = make("button", { onclick: () => (this.source && !this.tapping ? this.silence() : this.hearClicks()) }, "Hear it with clicks");
    this.pad = make("button", { class: "pad", hidden: true, type: "button" }, "Tap every beat here: any key, or touch");
    this.pad.addEventListener("pointerdown", (event) => { if (this.tapping) this.taps.push(event.timeStamp / 1000); });
    this.said = make("div", { "aria-live": "polite" });
    this.beatTools = make("div", { hidden: true });
    this.main.replaceChildren(
      make("h1", {}, "Where the bars of a recording fall"),
      this.drawn.place,
      make("div", { class: "row" },
        make("button", { onclick: () => this.zoom(0.5) }, "closer"), make("button", { onclick: () => this.zoom(2) }, "wider"),
        make("button", { onclick: () => this.slide(-0.5) }, "earlier"), make("button", { onclick: () => this.slide(0.5) }, "later")),
      make("ol", {},
        make("li", {}, "Say where to begin: ", labelled("second", this.from), " (or click on the sound), a bar or two before the first bar that matters."),
        make("li", {}, "Say which bars you will tap: ", labelled("bars", this.bars), " in ", labelled("metre", choices(METRES.map((each) => [each, each]), this.metre, (value) => { this.metre = value; }))),
        make("li", {}, "Tap every beat of these bars while it plays, from the first beat of the first bar on.")),
      make("div", { class: "row" }, this.tap, this.hear), this.pad, this.said, this.beatTools);
    this.layTools();
  }

  layTools() {
    this.beatNamed = make("output", { class: "pair" });
    const tool = (words, action) => make("button", { onclick: () => trying(action)() }, words);
    this.solve = make("button", { class: "main", hidden: true, onclick: () => trying(() => this.solveAgain())() }, "Work it out again");
    this.users = make("div");
    this.beatTools.replaceChildren(
      make("h2", {}, "Is every beat in its place?"),
      make("p", { class: "quiet" }, "Choose a beat on the sound, or with the keys < and >; move it with the arrow keys, press n for the nearest stroke. What you moved is a mark, from which all is worked out again."),
      make("div", { class: "row" }, this.beatNamed,
        tool("beat before", () => this.choose(this.chosen - 1)), tool("beat after", () => this.choose(this.chosen + 1)),
        tool("earlier", () => this.nudge(-NUDGE_S)), tool("later", () => this.nudge(NUDGE_S)),
        tool("to the nearest stroke", () => this.nearest()), tool("hear this bar", () => this.hearClicks(this.beats[this.chosen])), this.solve),
      this.users);
  }

  view(fromS, toS) {
    const length = Math.max(1, Math.min(toS - fromS, this.wave.duration_s));
    this.seenFrom = Math.max(0, Math.min(fromS, this.wave.duration_s - length));
    this.seenTo = this.seenFrom + length;
    const per = this.wave.peaks.length / this.wave.duration_s;
    this.drawn.show(this.wave.peaks.slice(Math.floor(this.seenFrom * per), Math.ceil(this.seenTo * per)), this.seenFrom, this.seenTo);
  }

  zoom(by) {
    const middle = this.beats.length ? this.beats[this.chosen].time_s : this.fromS;
    const half = ((this.seenTo - this.seenFrom) * by) / 2;
    this.view(middle - half, middle + half);
  }

  slide(by) {
    const shift = (this.seenTo - this.seenFrom) * by;
    this.view(this.seenFrom + shift, this.seenTo + shift);
  }

  overlay() {
    const over = this.drawn.over;
    over.replaceChildren();
    const mark = (seconds, kind, words = "") => {
      if (seconds < this.seenFrom || seconds > this.seenTo) return null;
      const line = make("span", { class: kind }, words);
      line.style.left = `${this.drawn.xOf(seconds)}px`;
      over.append(line);
      return line;
    };
    mark(this.fromS, "begin", "begin");
    this.beats.forEach((beat, k) => {
      const unsure = this.unsure.has(beat.bar) && beat.beat === 1;
      const line = mark(beat.time_s, beat.beat === 1 ? "beat first" : "beat", beat.beat === 1 ? `${beat.bar}${unsure ? " ?" : ""}` : "");
      if (line) {
        line.classList.toggle("chosen-beat", k === this.chosen);
        line.classList.toggle("moved", this.marks.has(this.nameOf(beat)));
      }
    });
  }

  nameOf(beat) {
    return beat.beat === 1 ? String(beat.bar) : `${beat.bar}.${beat.beat}`;
  }

  point(event) {
    const seconds = this.drawn.secondAt(event.clientX - this.drawn.place.getBoundingClientRect().left);
    if (this.beats.length) {
      let best = 0;
      this.beats.forEach((beat, k) => { if (Math.abs(beat.time_s - seconds) < Math.abs(this.beats[best].time_s - seconds)) best = k; });
      this.choose(best);
      return;
    }
    this.fromS = Math.max(0, seconds);
    this.from.value = this.fromS.toFixed(1);
    this.overlay();
  }

  setBeats(told) {
    this.beats = told.beats;
    this.unsure = new Set(told.unsure_bars);
    this.beatTools.hidden = !this.beats.length;
    if (this.beats.length) {
      const [first, last] = [this.beats[0], this.beats[this.beats.length - 1]];
      this.bars.value = this.bars.value || `${first.bar}-${last.bar}`;
      this.view(first.time_s - 2, last.time_s + 2);
      this.choose(Math.min(this.chosen, this.beats.length - 1));
      trying(() => this.showUse())();
    }
    this.overlay();
  }

  choose(k) {
    if (!this.beats.length) return;
    this.chosen = Math.max(0, Math.min(k, this.beats.length - 1));
    const beat = this.beats[this.chosen];
    const unsure = beat.uncertainty_s ? `, known to ${Math.round(beat.uncertainty_s * 1000)} ms` : "";
    this.beatNamed.textContent = `Bar ${beat.bar}, beat ${beat.beat}, at ${beat.time_s.toFixed(2)} s${unsure}`;
    if (beat.time_s < this.seenFrom || beat.time_s > this.seenTo) {
      const half = (this.seenTo - this.seenFrom) / 2;
      this.view(beat.time_s - half, beat.time_s + half);
    }
    this.overlay();
  }

  moveTo(seconds) {
    const beat = this.beats[this.chosen];
    beat.time_s = Math.max(0, seconds);
    this.marks.set(this.nameOf(beat), beat.time_s);
    this.solve.hidden = false;
    this.choose(this.chosen);
  }

  nudge(by) {
    this.moveTo(this.beats[this.chosen].time_s + by);
  }

  async nearest() {
    const told = await post(`${this.way}/nearest`, { at_s: this.beats[this.chosen].time_s });
    if (told.time_s === null) say("Nothing is struck near this beat.");
    else this.moveTo(told.time_s);
  }

  key(event) {
    if (this.tapping) {
      if (event.key === "Escape") trying(() => this.endTapping())();
      else if (!["Tab", "Shift", "Control", "Alt", "Meta"].includes(event.key)) {
        event.preventDefault();
        if (!event.repeat) this.taps.push(event.timeStamp / 1000);
      }
      return;
    }
    const writing = /^(INPUT|SELECT|TEXTAREA)$/.test(document.activeElement.tagName);
    if (!this.beats.length || writing || event.ctrlKey || event.metaKey || event.altKey) return;
    const actions = {
      "<": () => this.choose(this.chosen - 1), ">": () => this.choose(this.chosen + 1), ",": () => this.choose(this.chosen - 1), ".": () => this.choose(this.chosen + 1),
      ArrowLeft: () => this.nudge(-NUDGE_S), ArrowRight: () => this.nudge(NUDGE_S), n: () => this.nearest(), Escape: () => this.silence(),
    };
    if (!actions[event.key]) return;
    event.preventDefault();
    trying(actions[event.key])();
  }

  async play(fromS) {
    this.silence();
    const sounds = audio();
    await sounds.resume();
    this.startS = sounds.currentTime + LEAD_S;
    this.playedFrom = fromS;
    this.source = new AudioBufferSourceNode(sounds, { buffer: this.sound });
    this.source.connect(sounds.destination);
    this.source.start(this.startS, fromS);
  }

  silence() {
    if (this.source) this.source.stop();
    (this.clicks || []).forEach((each) => each.stop());
    this.source = null;
    this.clicks = [];
    if (this.hear) this.hear.textContent = "Hear it with clicks";
  }

  async beginTapping() {
    if (!/^\s*\d+\s*(-\s*\d+\s*)?$/.test(this.bars.value)) throw new Error("Say first which bars you will tap, such as 45-50.");
    await this.play(this.fromS);
    this.taps = [];
    this.clock = [];
    this.tapping = true;
    this.tap.textContent = "I have tapped them all";
    this.pad.hidden = false;
    this.pad.focus();
    this.reading = setInterval(() => {
      const stamp = audio().getOutputTimestamp();
      if (stamp.contextTime > 0 && stamp.performanceTime > 0) this.clock.push([stamp.contextTime, stamp.performanceTime / 1000]);
    }, READ_EVERY_MS);
  }

  async endTapping() {
    clearInterval(this.reading);
    this.tapping = false;
    this.tap.textContent = "Tap along";
    this.pad.hidden = true;
    this.silence();
    if (this.taps.length < 2) throw new Error("Nothing was tapped: tap every beat while the recording plays.");
    this.marks.clear();
    this.told(await post(`${this.way}/beats`, {
      tapped: this.taps, clock: this.clock, start_s: this.startS, from_s: this.playedFrom, bars: this.bars.value, metre: this.metre,
    }));
  }

  async solveAgain() {
    const at = [...this.marks].map(([name, seconds]) => `${name}=${seconds.toFixed(3)}`);
    this.told(await post(`${this.way}/beats`, { kept_taps: this.kept, at, from_s: this.playedFrom || 0, bars: this.bars.value, metre: this.metre }));
  }

  told(answer) {
    this.kept = answer.kept_taps;
    this.solve.hidden = true;
    const unsure = answer.unsure_bars.length ? `Hear these bars first: ${answer.unsure_bars.slice(0, 6).join(", ")}.` : "No bar is in doubt. A miscount is heard at once with the clicks.";
    this.said.replaceChildren(make("p", {}, `${answer.beats.length} beats are in their place. ${unsure}`));
    this.setBeats(answer);
  }

  hearClicks = trying(async (beat = null) => {
    if (!this.beats.length) throw new Error("There are no beats to hear yet: tap along first.");
    const first = beat ? beat.time_s : this.beats[0].time_s;
    const from = Math.max(0, first - 1.5);
    await this.play(from);
    this.hear.textContent = "Stop";
    const sounds = audio();
    this.clicks = this.beats.filter((each) => each.time_s >= from && (!beat || each.time_s < first + 6)).map((each) => {
      const at = this.startS + each.time_s - from;
      const tone = new OscillatorNode(sounds, { frequency: each.beat === 1 ? 1800 : 1200 });
      const gain = new GainNode(sounds, { gain: 0 });
      gain.gain.setValueAtTime(0.35, at);
      gain.gain.exponentialRampToValueAtTime(0.001, at + 0.05);
      tone.connect(gain).connect(sounds.destination);
      tone.start(at);
      tone.stop(at + 0.06);
      return tone;
    });
    const last = beat ? first + 6 : this.beats[this.beats.length - 1].time_s + 1;
    this.source.stop(this.startS + last - from);
    this.source.onended = () => this.silence();
  });

  async showUse() {
    const shelf = await get("/api/shelf");
    const passages = [...shelf.own, ...shelf.supplied].map((each) => [each.name, each.title]);
    let chosen = passages.some(([name]) => name === this.passage) ? this.passage : passages[0][0];
    this.users.replaceChildren(
      make("h2", {}, "Practise with it"),
      make("div", { class: "row" }, labelled("The passage it accompanies", choices(passages, chosen, (value) => { chosen = value; })),
        make("button", { class: "main", onclick: () => trying(async () => {
          const told = await post(`${this.way}/use`, { passage: chosen });
          location.hash = `entry/${encodeURIComponent(told.name)}`;
        })() }, "Practise my entry over it")));
  }
}
