// Practising an entry: the rest counted, the help that thins, each try heard as so much early or late.

import { get, post } from "./ask.js";
import { Clapping } from "./clapping.js";
import { Counting } from "./counting.js";
import { heardBy, listening, listens } from "./listening.js";
import { choices, labelled, make, say, tick, trying } from "./parts.js";
import { Player, Track } from "./player.js";
import { Sheet, wantedWidth } from "./sheet.js";
import { Wave, peaksOf } from "./wave.js";

export async function entryPlace(main, passage) {
  const place = new EntryPractice(main, passage);
  await place.open();
  return () => place.close();
}

class EntryPractice {
  constructor(main, passage) {
    this.main = main;
    this.passage = passage;
    this.listens = listens();
    this.speed = 0.7;
    this.tries = [];
    this.player = new Player({ onend: (finished) => this.ended(finished) });
    this.onkey = (event) => { if (event.key === "Escape") this.player.stop(); };
    window.addEventListener("keydown", this.onkey);
  }

  close() {
    window.removeEventListener("keydown", this.onkey);
    if (this.clapping) this.clapping.abandon();
    this.player.stop();
    cancelAnimationFrame(this.drawing);
  }

  async open() {
    const place = make("div", { role: "group", "aria-label": "The notes" });
    this.counting = new Counting();
    this.wave = new Wave("The recording, with its bars");
    this.wave.place.hidden = true;
    this.title = make("h1", {}, "Come in");
    this.which = make("p");
    this.go = make("button", { class: "main", hidden: true, onclick: () => (this.player.playing ? this.player.stop() : this.attempt()) }, "Go");
    this.pad = make("button", { class: "pad", hidden: true, type: "button" }, "Come in here: any key, or touch");
    this.next = make("p", { role: "status" });
    this.list = make("ol", { class: "tries" });
    this.said = make("div", { "aria-live": "polite" });
    this.settings = make("div");
    this.main.replaceChildren(this.title, this.which, this.settings,
      make("div", { class: "beside" }, make("div", {}, place, this.wave.place), this.counting.place),
      this.next, make("div", { class: "row" }, this.go), this.pad, this.said, this.list);
    this.sheet = new Sheet(place);
    this.shown = await get("/api/passage", { passage: this.passage, width: wantedWidth(place) });
    this.sheet.show(this.shown);
    this.title.textContent = `Come in: ${this.shown.title}`;
    if (!this.shown.comings.length) {
      this.which.textContent = "There is no rest of a bar or more before a note here, so there is no entry to practise. Choose a passage with a rest, such as “After the Rest”.";
      return;
    }
    const [low, high] = this.shown.mapped || [0, 0];
    this.over = this.shown.comings.filter((each) => each.bar >= low && each.bar <= high);
    this.recorded = this.over.length > 0;
    this.bar = (this.recorded ? this.over : this.shown.comings).slice(-1)[0].bar;
    this.showSettings();
  }

  showSettings() {
    const comings = this.recorded ? this.over : this.shown.comings;
    if (!comings.some((each) => each.bar === this.bar)) this.bar = comings[0].bar;
    const entries = comings.map((each) => [each.bar, each.in_words]);
    const words = () => `${Math.round(this.speed * 100)} % of the tempo`;
    const told = make("output", {}, words());
    const slider = make("input", { type: "range", min: 0.4, max: 1.1, step: 0.01, value: this.speed });
    slider.addEventListener("input", () => { this.speed = Number(slider.value); told.textContent = words(); });
    this.settings.replaceChildren(
      make("div", { class: "row" },
        labelled("Which entry", choices(entries, this.bar, (value) => { this.bar = Number(value); })),
        labelled("How fast", slider), told,
        this.over.length ? tick("with the recording", this.recorded, (on) => { this.recorded = on; this.showSettings(); }) : ""),
      listening(this.listens),
      make("div", { class: "row" }, make("button", { class: "main", onclick: () => this.begin() }, "Begin")));
  }

  begin = trying(async () => {
    const told = await post("/api/entry", { passage: this.passage, bar: this.bar, speed: this.speed, recorded: Boolean(this.recorded) });
    this.course = told.course;
    this.which.textContent = `You come in at ${told.entry}.`;
    this.list.replaceChildren();
    this.said.replaceChildren();
    this.settings.hidden = true;
    this.showNext(told.coming);
  });

  showNext(coming) {
    this.go.hidden = !coming;
    this.next.textContent = coming ? `Try ${coming.number}: ${coming.lead_in}. ${sentence(coming.help)}.` : "";
    if (coming) this.go.focus();
    this.settings.hidden = Boolean(coming);
  }

  attempt = trying(async () => {
    this.go.disabled = true;
    try {
      this.track = await new Track(await post(`/api/entry/${this.course}/track`)).load();
      this.counting.begin(this.track);
      this.showWave();
      this.clapping = new Clapping(this.player, { ...heardBy(this.listens), pad: this.pad, onclap: () => {} });
      await this.clapping.open();
      await this.player.start(this.track);
      await this.clapping.begin();
    } catch (error) {
      if (this.clapping && this.clapping.handlers) this.clapping.close();
      this.clapping = null;
      this.player.stop();
      throw error;
    } finally {
      this.go.disabled = false;
    }
    this.go.textContent = "Stop";
    this.pad.hidden = this.listens.source !== "keys";
    if (!this.pad.hidden) this.pad.focus();
    this.step();
  });

  showWave() {
    const recording = this.track.buffers.get("accompaniment");
    this.wave.place.hidden = !recording;
    if (!recording) return;
    this.wave.onlay = () => {
      this.marks = this.track.bars.map((bar) => {
        const mark = make("span", { class: "bar" }, bar.index === null ? "" : String(bar.number));
        mark.style.left = `${this.wave.xOf(bar.start_s)}px`;
        mark.style.width = `${this.wave.xOf(bar.stop_s) - this.wave.xOf(bar.start_s)}px`;
        return mark;
      });
      const entries = this.track.entries_s.map((at) => {
        const mark = make("span", { class: "come" }, "you");
        mark.style.left = `${this.wave.xOf(at)}px`;
        return mark;
      });
      this.wave.over.replaceChildren(...this.marks, ...entries);
    };
    this.wave.show(peaksOf(recording), 0, recording.duration);
  }

  step() {
    if (!this.player.playing) return;
    const now = this.player.now;
    const bar = this.track.barAt(now);
    const drawn = this.shown.numbers.indexOf(bar.number);
    this.sheet.setFrame(now < 0 || bar.index === null || drawn < 0 ? null : drawn);
    this.counting.show(now);
    if (this.marks) this.marks.forEach((mark, k) => mark.classList.toggle("now", this.track.bars[k] === bar));
    if (this.player.endedFor(this.clapping ? this.clapping.tailS : 0)) {
      this.player.stop(true);
      return;
    }
    this.drawing = requestAnimationFrame(() => this.step());
  }

  ended(finished) {
    cancelAnimationFrame(this.drawing);
    this.sheet.setFrame(null);
    this.counting.clear();
    this.go.textContent = "Go";
    this.pad.hidden = true;
    if (this.clapping) this.hear(this.clapping, finished);
    this.clapping = null;
  }

  hear = trying(async (clapping, finished) => {
    if (!finished && this.player.now < Math.min(...this.track.entries_s)) {
      clapping.close();
      await clapping.end(true).catch(() => null);
      say("Stopped before the entry: this try does not count.");
      return;
    }
    const told = await clapping.end(!finished, `/api/entry/${this.course}/end`);
    this.list.append(make("li", {}, `${sentence(told.lead_in)}: `, make("b", {}, told.went), `.`));
    this.said.replaceChildren(
      make("p", { class: "went" }, make("b", {}, `${sentence(told.went)}.`)),
      ...told.notes.map((line) => make("p", { class: "quiet" }, line)),
      ...told.advice.map((line) => make("p", {}, line)));
    this.showNext(told.coming);
  });
}

const sentence = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);
