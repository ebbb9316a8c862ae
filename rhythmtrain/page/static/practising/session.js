// One session with a passage: what comes next, how and why; its track; what was heard of it.

import { get, post } from "../ask.js";
import { numbers } from "./numbers.js";
import { SOURCES, heardBy, listens, whichMidi } from "../listening/listening.js";
import { choices, labelled, make, trying } from "../parts.js";
import { Track } from "../sound/player.js";
import { Stand } from "../stand/stand.js";

const INSTRUMENTS = ["", "clarinet", "flute", "oboe", "saxophone", "trumpet", "horn", "violin", "viola", "cello", "guitar", "voice"];
const ORDERS = [["", "as the settings have it"], ["gradual", "from slow to fast"], ["alternating", "slow and full in turn"], ["mix", "in a mix"]];
const REST_MINUTES = 20;
const ABOUT = "Ten minutes, slow first: listen, echo, count and clap, clap alone, sing, play, then back to tempo. Every step comes from what was heard of the last one, and the next session goes on where this one ends.";
const REST = "Rest now. Short practice on many days does more than long practice on one.";

export async function sessionPlace(main, passage, more) {
  const place = new PageSession(main, passage);
  await place.open(more.get("bars"));
  return () => place.stand.close();
}

class PageSession {
  constructor(main, passage) {
    this.main = main;
    this.passage = passage;
    this.source = listens().source;
    this.midi = whichMidi(listens());
    this.midi.hidden = this.source !== "midi";
    this.instrument = "";
    this.minutes = 10;
    this.order = "";
    this.stand = new Stand({
      asks: "Clap here: any key, or touch", notes: "The notes", indexOf: (bar) => this.indexOf(bar),
      onstate: (state) => this.showState(state), onend: (clapping, finished) => this.ended(clapping, finished),
    });
  }

  indexOf(bar) {
    const index = bar.index === null ? -1 : this.shown.numbers.indexOf(bar.number);
    return index < 0 ? null : index;
  }

  async open(bars) {
    this.bars = bars;
    this.title = make("h1", {}, "A session");
    this.setup = make("div");
    this.heard = make("div", { "aria-live": "polite" });
    this.step = make("div");
    this.go = make("button", { class: "main", hidden: true, onclick: () => (this.stand.playing ? this.stand.stop() : this.attempt()) }, "Go");
    this.skip = make("button", { hidden: true, onclick: () => trying(() => this.told(null))() }, "I have done it");
    this.main.replaceChildren(this.title, this.setup, this.heard, this.step,
      make("div", { class: "beside" }, this.stand.place, this.stand.counting.place), this.stand.acting(this.go, this.skip));
    this.shown = await get("/api/passage", { passage: this.passage, bars, width: this.stand.width });
    this.stand.sheet.show(this.shown);
    this.title.textContent = `A session: ${this.shown.title}`;
    this.showSetup();
  }

  showSetup() {
    const named = INSTRUMENTS.map((each) => [each, each || "none: I clap all of it"]);
    this.setup.replaceChildren(
      make("p", { class: "quiet" }, ABOUT),
      make("div", { class: "row" },
        labelled("I clap with", choices(SOURCES, this.source, (value) => { this.source = value; this.midi.hidden = value !== "midi"; })), this.midi,
        labelled("my instrument", choices(named, this.instrument, (value) => { this.instrument = value; })),
        make("button", { class: "main", onclick: () => trying(() => this.begin())() }, "Begin")),
      ...this.finer());
  }

  finer() {
    const minutes = make("input", { type: "number", class: "figure", min: 1, max: 120, step: 1, value: this.minutes, oninput: () => { this.minutes = Number(minutes.value) || 10; } });
    return [make("details", {}, make("summary", {}, "How long, in which order"), make("div", { class: "row" },
      labelled("At most", minutes, "minutes"), labelled("The tempi come", choices(ORDERS, this.order, (value) => { this.order = value; })))), numbers()];
  }

  async begin() {
    const told = await post("/api/session", { passage: this.passage, bars: this.bars, source: this.source, instrument: this.instrument || null, minutes: this.minutes, order: this.order });
    this.name = told.session;
    this.setup.hidden = true;
    this.begun = Date.now();
    this.show(told);
  }

  show(told) {
    this.coming = told.coming;
    this.go.hidden = !told.coming || told.coming.entry;
    this.skip.hidden = !told.coming || !told.coming.entry;
    if (!told.coming) {
      this.step.replaceChildren(make("h2", {}, "That is it for today"), make("p", {}, told.over), make("p", {}, REST), make("a", { href: "#days" }, "How it goes over the days"));
      return;
    }
    const { title, pace, how, why, unjudged, entry } = told.coming;
    const minutes = Math.floor((Date.now() - this.begun) / 60000);
    this.step.replaceChildren(
      make("h2", {}, title, pace ? `, ${pace}` : ""), make("p", { class: "went" }, how), make("p", { class: "quiet" }, why), unjudged ? make("p", { class: "quiet" }, unjudged) : "",
      entry ? make("p", {}, make("a", { href: `#entry/${encodeURIComponent(this.passage)}` }, "Practise the entry in its own place")) : "",
      minutes >= REST_MINUTES ? make("p", {}, `You have been at it for ${minutes} minutes: put the instrument down and rest a little.`) : "");
    (entry ? this.skip : this.go).focus({ preventScroll: true });
  }

  attempt = trying(() => this.stand.play(
    async () => new Track(await post(`/api/session/${this.name}/track`)).load(),
    { heard: (track) => (track.judged ? heardBy({ ...listens(), source: this.source, kind: track.kind, aloud: true }) : null) },
  ));

  showState(state) {
    this.go.disabled = state === "making";
    this.go.textContent = state === "playing" ? "Stop" : "Go";
    if (state === "playing") this.go.focus({ preventScroll: true });
  }

  ended(clapping, finished) {
    if (clapping && !finished) {
      clapping.end(true).catch(() => null);
      this.heard.replaceChildren(make("p", {}, "Stopped: this step waits for you."));
      return;
    }
    if (finished) trying(() => this.told(clapping))();
  }

  async told(clapping) {
    const way = `/api/session/${this.name}/end`;
    const told = clapping ? await clapping.end(false, way) : await post(way);
    this.heard.replaceChildren(make("p", { class: "went" }, make("b", {}, told.went)), ...told.said.map((line) => make("p", {}, line)));
    this.show(told);
  }
}
