// The beats of a recording found: one taps along, sees them on the sound, moves one that is beside its
// place, hears clicks over the recording; the program solves.

import { get, post } from "../ask.js";
import { Beats } from "./beats.js";
import { beatsFile } from "./beats_file.js";
import { METRES } from "../wishes/metres.js";
import { notesFile } from "./notes_file.js";
import { practisingOver } from "./over_recording.js";
import { choices, labelled, make, say, trying } from "../parts.js";
import { RecordedSound } from "../sound/recorded_sound.js";
import { TapAlong } from "../listening/tapping.js";

const NUDGE_S = 0.01;
const BEFORE_S = 1.5;
const BAR_S = 6;
const TITLE = "Where the bars of a recording fall";

export class Mapping {
  constructor(main, passage) {
    this.main = main;
    this.passage = passage;
    this.sound = new RecordedSound(() => { this.hear.textContent = "Hear it with clicks"; });
    this.tapping = new TapAlong(this.sound, () => this.endTapping());
    this.beats = new Beats({ onchoose: (beat) => this.tell(beat), onpoint: (seconds) => this.begin(seconds) });
    this.onkey = (event) => this.key(event);
    window.addEventListener("keydown", this.onkey, true);
  }

  close() {
    window.removeEventListener("keydown", this.onkey, true);
    if (this.tapping.on) this.tapping.end();
    this.sound.silence();
  }

  // `fresh` is a recording that came just now.
  async show(name, { fresh = false } = {}) {
    this.name = name;
    this.fresh = fresh;
    this.way = `/api/recording/${encodeURIComponent(name)}`;
    const [wave, kept] = await Promise.all([get(`${this.way}/wave`), get(`${this.way}/beats`), this.sound.load(this.way)]);
    this.lay();
    this.beats.showSound(wave);
    this.showBeats(kept);
  }

  lay() {
    const tool = (words, action) => make("button", { onclick: action }, words);
    this.from = make("input", { type: "number", class: "figure", min: 0, step: 0.1, value: 0, onchange: () => this.beats.begin(Number(this.from.value)) });
    this.bars = make("input", { type: "text", placeholder: "45-50", size: 7 });
    this.end = make("input", { type: "number", class: "figure", min: 0, step: 0.01 });
    this.metre = "2/4";
    this.tap = make("button", { class: "main", onclick: () => (this.tapping.on ? this.endTapping() : this.beginTapping()) }, "Tap along");
    this.hear = tool("Hear it with clicks", () => (this.sound.sounds ? this.sound.silence() : this.hearClicks()));
    this.said = make("div", { "aria-live": "polite" });
    this.tools = make("div", { hidden: true });
    const onmapped = (told) => { this.beats.marks.clear(); this.bars.value = ""; this.found(told); };
    const onwait = (words) => this.wait(words);
    this.kept = beatsFile(this.way, () => ({ bars: this.bars.value, metre: this.metre, end: this.end.value }), { onwait, onmapped });
    this.main.replaceChildren(
      make("h1", {}, TITLE),
      this.fresh ? make("p", { role: "status" }, "Your recording is kept. Here you find its bars, to practise over it.") : "",
      this.beats.place,
      make("div", { class: "row", role: "group", "aria-label": "What is seen of it" },
        tool("closer", () => this.beats.zoom(0.5)), tool("wider", () => this.beats.zoom(2)),
        tool("further back", () => this.beats.slide(-0.5)), tool("further on", () => this.beats.slide(0.5))),
      make("ol", {},
        make("li", {}, "Say where to begin: ", labelled("second", this.from), " (or click on the sound), a bar or two before the first bar that matters."),
        make("li", {}, "Say which bars you will tap: ", labelled("bars", this.bars), " in ", labelled("metre", choices(METRES, this.metre, (value) => { this.metre = value; }))),
        make("li", {}, "Tap every beat of these bars while it plays, from the first beat of the first bar on. Where they are many, tap the first two bars and say where the last one begins: ", labelled("second of the last bar", this.end))),
      make("div", { class: "act" }, make("div", { class: "row" }, this.tap, this.hear), this.tapping.pad), this.said, this.tools,
      notesFile(this.way, { onwait, onmapped }), this.kept.place,
      make("p", { class: "row" }, "Is it a rhythm that somebody clapped?", make("a", { href: `#write//${new URLSearchParams({ recording: this.name })}` }, "Write it down as notes")));
    this.layTools(tool);
  }

  layTools(tool) {
    this.named = make("output", { class: "pair" });
    this.solve = make("button", { class: "main", hidden: true, onclick: trying(() => this.solveAgain()) }, "Work it out again");
    this.users = make("div");
    this.tools.replaceChildren(
      make("h2", {}, "Is every beat in its place?"),
      make("p", { class: "quiet" }, "Choose a beat on the sound, or with the keys < and >; move it with the arrow keys, press n for the nearest stroke. What you moved is a mark, from which all is worked out again."),
      make("div", { class: "row" }, this.named,
        tool("beat before", () => this.beats.step(-1)), tool("beat after", () => this.beats.step(1)),
        tool("earlier", () => this.nudge(-1)), tool("later", () => this.nudge(1)),
        tool("to the nearest stroke", () => this.nearest()), tool("hear this bar", () => this.hearClicks(this.beats.beat)), this.solve),
      this.users);
  }

  begin(seconds) {
    this.from.value = seconds.toFixed(1);
    this.beats.begin(seconds);
  }

  showBeats({ beats, unsure_bars: unsure }) {
    this.beats.show(beats, unsure);
    this.solve.hidden = true;
    this.tools.hidden = !beats.length;
    this.kept.known(beats.length > 0);
    if (!beats.length) return;
    this.bars.value = this.bars.value || `${beats[0].bar}-${beats[beats.length - 1].bar}`;
    trying(async () => this.users.replaceChildren(...await practisingOver(this.way, this.passage)))();
  }

  tell(beat) {
    const known = beat.uncertainty_s ? `, known to ${Math.round(beat.uncertainty_s * 1000)} ms` : "";
    this.named.textContent = `Bar ${beat.bar}, beat ${beat.beat}, at ${beat.time_s.toFixed(2)} s${known}`;
  }

  moveTo(seconds) {
    this.beats.moveTo(seconds);
    this.solve.hidden = false;
  }

  nudge(by) {
    this.moveTo(this.beats.beat.time_s + by * NUDGE_S);
  }

  nearest = trying(async () => {
    const told = await post(`${this.way}/nearest`, { at_s: this.beats.beat.time_s });
    if (told.time_s === null) say("Nothing is struck near this beat.");
    else this.moveTo(told.time_s);
  });

  key(event) {
    if (this.tapping.on) {
      this.tapping.key(event);
      return;
    }
    const writing = /^(INPUT|SELECT|TEXTAREA)$/.test(document.activeElement.tagName);
    if (!this.beats.all.length || writing || event.ctrlKey || event.metaKey || event.altKey) return;
    const before = () => this.beats.step(-1);
    const after = () => this.beats.step(1);
    const actions = {
      "<": before, ",": before, ">": after, ".": after, n: () => this.nearest(), Escape: () => this.sound.silence(),
      ArrowLeft: () => this.nudge(-1), ArrowRight: () => this.nudge(1),
    };
    if (!actions[event.key]) return;
    event.preventDefault();
    actions[event.key]();
  }

  beginTapping = trying(async () => {
    if (!/^\s*\d+\s*(-\s*\d+\s*)?$/.test(this.bars.value)) throw new Error("Say first which bars you will tap, such as 45-50.");
    await this.tapping.begin(Number(this.from.value));
    this.tap.textContent = "I have tapped them all";
  });

  endTapping = trying(async () => {
    const tapped = this.tapping.end();
    this.tap.textContent = "Tap along";
    this.tap.focus({ preventScroll: true });
    if (tapped.tapped.length < 2) throw new Error("Nothing was tapped: tap every beat while the recording plays.");
    this.beats.marks.clear();
    this.wait("Listening to the recording …");
    await this.solved({ ...tapped, bars: this.bars.value, metre: this.metre, end: this.end.value || null });
  });

  async solveAgain() {
    await this.solved({ at: this.beats.marked });
  }

  wait(words) {
    this.said.replaceChildren(words ? make("p", {}, words) : "");
  }

  async solved(values) {
    this.found(await post(`${this.way}/beats`, values).catch((error) => {
      this.wait("");
      throw error;
    }));
  }

  found(told) {
    const [begin] = told.unsure_bars;
    const most = `Most bars are in doubt. Begin with bar ${begin}: hear it with the clicks and put its first beat right, then find the beats again.`;
    const some = begin ? `Hear these bars first: ${told.unsure_bars.slice(0, 6).join(", ")}.` : "No bar is in doubt. A miscount is heard at once with the clicks.";
    const heard = told.mostly_in_doubt ? most : some;
    const unsure = told.as_brought ? "Whether they are this recording’s is heard with the clicks." : heard;
    this.said.replaceChildren(make("p", {}, `${told.beats.length} beats were found. ${unsure}`), ...told.said.map((line) => make("p", {}, line)));
    this.showBeats(told);
  }

  hearClicks = trying(async (beat = null) => {
    const { all } = this.beats;
    if (!all.length) throw new Error("There are no beats to hear yet: tap along first.");
    const first = (beat || all[0]).time_s;
    const until = beat ? first + BAR_S : all[all.length - 1].time_s + 1;
    await this.sound.playWithClicks(all, Math.max(0, first - BEFORE_S), until);
    this.hear.textContent = "Stop";
  });
}
