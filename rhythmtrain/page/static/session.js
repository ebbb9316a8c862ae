// One session with a passage: what comes next, how and why; its track; what was heard of it.

import { get, post } from "./ask.js";
import { Clapping } from "./clapping.js";
import { Counting } from "./counting.js";
import { listens } from "./listening.js";
import { choices, labelled, make, trying } from "./parts.js";
import { Player, Track } from "./player.js";
import { Sheet, wantedWidth } from "./sheet.js";

const SOURCES = [["keys", "keys or the screen"], ["midi", "a MIDI pad or keyboard"], ["mic", "the microphone"]];
const INSTRUMENTS = ["", "clarinet", "flute", "oboe", "saxophone", "trumpet", "horn", "violin", "viola", "cello", "guitar", "voice"];
const REST_MINUTES = 20;

export async function sessionPlace(main, passage, more) {
  const place = new PageSession(main, passage);
  await place.open(more.get("bars"));
  return () => place.close();
}

class PageSession {
  constructor(main, passage) {
    this.main = main;
    this.passage = passage;
    this.source = listens().source;
    this.instrument = "";
    this.begun = Date.now();
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

  async open(bars) {
    this.bars = bars;
    this.title = make("h1", {}, "A session");
    this.setup = make("div");
    this.heard = make("div", { "aria-live": "polite" });
    this.step = make("div");
    this.go = make("button", { class: "main", hidden: true, onclick: () => (this.player.playing ? this.player.stop() : this.attempt()) }, "Go");
    this.skip = make("button", { hidden: true, onclick: () => trying(() => this.told(null))() }, "I have done it");
    this.pad = make("button", { class: "pad", hidden: true, type: "button" }, "Clap here: any key, or touch");
    this.counting = new Counting();
    const place = make("div", { role: "group", "aria-label": "The notes" });
    this.main.replaceChildren(this.title, this.setup, this.heard, this.step, make("div", { class: "row" }, this.go, this.skip), this.pad,
      make("div", { class: "beside" }, place, this.counting.place));
    this.sheet = new Sheet(place);
    this.shown = await get("/api/passage", { passage: this.passage, bars, width: wantedWidth(place) });
    this.sheet.show(this.shown);
    this.title.textContent = `A session: ${this.shown.title}`;
    this.showSetup();
  }

  showSetup() {
    const named = INSTRUMENTS.map((each) => [each, each || "none: I clap all of it"]);
    this.setup.replaceChildren(
      make("p", { class: "quiet" }, "Ten minutes, slow first: listen, echo, count and clap, clap alone, sing, play, then back to tempo. Every step comes from what was heard of the last one, and the next session goes on where this one ends."),
      make("div", { class: "row" },
        labelled("I clap with", choices(SOURCES, this.source, (value) => { this.source = value; })),
        labelled("my instrument", choices(named, this.instrument, (value) => { this.instrument = value; })),
        make("button", { class: "main", onclick: () => trying(() => this.begin())() }, "Begin")));
  }

  async begin() {
    const told = await post("/api/session", { passage: this.passage, bars: this.bars, source: this.source, instrument: this.instrument || null });
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
      this.step.replaceChildren(make("h2", {}, "That is it for today"), make("p", {}, told.over), make("p", {}, "Rest now. Short practice on many days does more than long practice on one."), make("a", { href: "#days" }, "How it goes over the days"));
      return;
    }
    const { title, pace, how, why, unjudged, entry } = told.coming;
    const minutes = Math.floor((Date.now() - this.begun) / 60000);
    this.step.replaceChildren(
      make("h2", {}, title, pace ? `, ${pace}` : ""), make("p", { class: "went" }, how), make("p", { class: "quiet" }, why), unjudged ? make("p", { class: "quiet" }, unjudged) : "",
      entry ? make("p", {}, make("a", { href: `#entry/${encodeURIComponent(this.passage)}` }, "Practise the entry in its own place")) : "",
      minutes >= REST_MINUTES ? make("p", {}, `You have been at it for ${minutes} minutes: put the instrument down and rest a little.`) : "");
    (entry ? this.skip : this.go).focus();
  }

  attempt = trying(async () => {
    this.go.disabled = true;
    try {
      const told = await post(`/api/session/${this.name}/track`);
      this.track = await new Track(told).load();
      this.counting.begin(this.track);
      this.sheet.clearLane();
      this.clapping = null;
      if (told.judged) {
        const aloud = this.source === "mic" && told.kind === "claps";
        this.clapping = new Clapping(this.player, {
          source: this.source, kind: this.source === "mic" ? told.kind : "claps", aloud, pad: this.pad,
          onclap: (seconds) => this.showClap(seconds),
        });
        await this.clapping.open();
      }
      await this.player.start(this.track);
      if (this.clapping) await this.clapping.begin();
    } catch (error) {
      if (this.clapping && this.clapping.handlers) this.clapping.close();
      this.clapping = null;
      this.player.stop();
      throw error;
    } finally {
      this.go.disabled = false;
    }
    this.go.textContent = "Stop";
    this.pad.hidden = !(this.clapping && this.source === "keys");
    if (!this.pad.hidden) this.pad.focus();
    this.draw();
  });

  indexOf(bar) {
    const index = bar.index === null ? -1 : this.shown.numbers.indexOf(bar.number);
    return index < 0 ? null : index;
  }

  showClap(seconds) {
    const place = this.track.placeAt(seconds);
    const index = this.indexOf(this.track.barAt(seconds));
    if (index !== null) this.sheet.addClap({ ...place, index, clap: true, repeat: 1 });
  }

  draw() {
    if (!this.player.playing) return;
    const now = this.player.now;
    this.sheet.setFrame(now < 0 ? null : this.indexOf(this.track.barAt(now)));
    this.counting.show(now);
    if (this.player.endedFor(this.clapping ? this.clapping.tailS : 0)) {
      this.player.stop(true);
      return;
    }
    this.drawing = requestAnimationFrame(() => this.draw());
  }

  ended(finished) {
    cancelAnimationFrame(this.drawing);
    this.sheet.setFrame(null);
    this.counting.clear();
    this.go.textContent = "Go";
    this.pad.hidden = true;
    const { clapping } = this;
    this.clapping = null;
    if (!this.track || !this.name) return;
    if (clapping && !finished) {
      clapping.end(true).catch(() => null);
      this.heard.replaceChildren(make("p", {}, "Stopped: this step waits for you."));
      return;
    }
    if (clapping || finished) trying(() => this.told(clapping))();
  }

  async told(clapping) {
    const way = `/api/session/${this.name}/end`;
    const told = clapping ? await clapping.end(false, way) : await post(way);
    this.heard.replaceChildren(make("p", { class: "went" }, make("b", {}, told.went)), ...told.said.map((line) => make("p", {}, line)));
    this.show(told);
  }
}
