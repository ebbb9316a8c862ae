// Practising a passage: see it, hear it, clap along, and read what was heard.

import { get, post } from "./ask.js";
import { Clapping } from "./clapping.js";
import { Counting } from "./counting.js";
import { told } from "./heard.js";
import { taking } from "./taking.js";
import { heardBy, listening, listens } from "./listening.js";
import { choices, labelled, make, say, tick, trying } from "./parts.js";
import { Player, Track } from "./player.js";
import { Sheet, wantedWidth } from "./sheet.js";

const LAYERS = {
  clap: "clapped rhythm", click: "click", count: "spoken count", tune: "tune", cue: "accompanist’s rhythm", accompaniment: "recording",
};

export async function practisePlace(main, passage, more) {
  const place = new Practice(main, passage);
  place.wish.bars = more.get("bars");
  place.tempo = Number(more.get("tempo")) || null;
  await place.open();
  return () => place.close();
}

class Practice {
  constructor(main, passage) {
    this.main = main;
    this.wish = { passage, bars: null, speed: 0.6, count_in: 1, repeats: 1, echo: 0, fade: false, recorded: false };
    this.listens = listens();
    this.loop = false;
    this.player = new Player({ onend: (finished) => this.ended(finished) });
    this.onkey = (event) => { if (event.key === "Escape" && this.player.playing) this.stop(); };
    window.addEventListener("keydown", this.onkey);
  }

  close() {
    window.removeEventListener("keydown", this.onkey);
    if (this.clapping) this.clapping.abandon();
    this.player.stop();
    cancelAnimationFrame(this.drawing);
  }

  async open() {
    this.sheetPlace = make("div", { role: "group", "aria-label": "The notes. Choose bars with the fields below, or by dragging over them." });
    this.lay();
    await this.draw();
  }

  lay() {
    this.title = make("h1", {}, "…");
    this.about = make("p", { class: "quiet" });
    this.counting = new Counting();
    this.settings = make("div");
    this.heard = make("section", { "aria-live": "polite", "aria-label": "What was heard" });
    this.hard = make("div");
    this.controls = make("div");
    this.main.replaceChildren(
      this.title, this.about,
      make("div", { class: "beside" }, this.sheetPlace, this.counting.place),
      this.controls, this.heard, this.settings, this.hard,
    );
    this.sheet = new Sheet(this.sheetPlace, { onchoose: (first, last) => this.choose(first, last) });
  }

  async draw() {
    const shown = await get("/api/passage", { passage: this.wish.passage, bars: this.wish.bars, width: wantedWidth(this.sheetPlace) });
    this.shown = shown;
    this.title.textContent = shown.title;
    this.about.textContent = shown.about;
    if (shown.said.length) say(shown.said.join(" "), 15);
    this.sheet.show(shown);
    this.track = null;
    if (this.tempo) this.wish.speed = this.tempo / shown.tempo;
    this.tempo = null;
    this.showControls();
    this.showSpots();
  }

  choose(first, last) {
    const whole = first === this.shown.whole[0] && last === this.shown.whole[1];
    this.pending = whole ? null : `${first}-${last}`;
    this.onlyButton.textContent = first === last ? `Only bar ${first}` : `Only bars ${first} to ${last}`;
    this.onlyButton.hidden = false;
    this.from.value = first;
    this.to.value = last;
  }

  async only(bars) {
    this.player.stop();
    this.wish.bars = bars;
    this.heard.replaceChildren();
    await this.draw();
  }

  showControls() {
    const [low, high] = this.shown.whole;
    const numbers = this.shown.numbers;
    this.from = make("input", { type: "number", min: low, max: high, value: numbers[0] });
    this.to = make("input", { type: "number", min: low, max: high, value: numbers[numbers.length - 1] });
    const fields = () => trying(() => this.only(this.whole(Number(this.from.value), Number(this.to.value))))();
    this.onlyButton = make("button", { hidden: true, onclick: () => trying(() => this.only(this.pending))() });
    const all = make("button", { hidden: this.wish.bars === null, onclick: () => trying(() => this.only(null))() }, "All bars");
    this.play = make("button", { class: "main", onclick: () => (this.player.playing ? this.stop() : this.begin(false)) }, "Play");
    this.clap = make("button", { class: "main", onclick: () => (this.player.playing ? this.stop() : this.begin(true)) }, "Clap along");
    this.pad = make("button", { class: "pad", hidden: true, type: "button" }, "Clap here: any key, or touch");
    this.controls.replaceChildren(
      make("div", { class: "row" }, this.play, this.clap),
      this.pad,
      this.howFast(),
    );
    this.settings.replaceChildren(make("div", { class: "settings" },
      make("fieldset", {}, make("legend", {}, "Which bars"),
        make("div", { class: "row" }, labelled("from", this.from), labelled("to", this.to), make("button", { onclick: fields }, "Take these"), this.onlyButton, all)),
      this.howOften(), this.levels(), this.listening(), taking(() => this.wish, this.shown),
    ));
  }

  whole(first, last) {
    return first === this.shown.whole[0] && last === this.shown.whole[1] ? null : `${first}-${last}`;
  }

  howFast() {
    const words = () => `${Math.round(this.shown.tempo * this.wish.speed)} beats a minute, ${Math.round(this.wish.speed * 100)} % of the written tempo`;
    const told = make("output", {}, words());
    const slider = make("input", { type: "range", min: 0.3, max: 1.2, step: 0.01, value: this.wish.speed, "aria-label": "How fast" });
    slider.addEventListener("input", () => {
      this.wish.speed = Number(slider.value);
      slider.setAttribute("aria-valuetext", words());
      told.textContent = words();
      this.track = null;
    });
    slider.setAttribute("aria-valuetext", words());
    return make("div", { class: "row" }, labelled("How fast", slider), told);
  }

  howOften() {
    const change = (key) => (value) => { this.wish[key] = Number(value); this.track = null; };
    const often = [1, 2, 3, 4, 6, 8].map((each) => [each, each === 1 ? "once" : `${each} times`]);
    const bars = [[0, "none"], [1, "one bar"], [2, "two bars"]];
    return make("div", { class: "row" },
      labelled("Count-in", choices(bars, this.wish.count_in, change("count_in"))),
      labelled("Play it", choices(often, this.wish.repeats, (value) => { change("repeats")(value); if (this.wish.repeats === 1) this.wish.fade = false; this.showControls(); })),
      this.wish.recorded ? "" : labelled("Answer", choices([[0, "play along"], [1, "after each bar heard"], [2, "after every two bars heard"]], this.wish.echo, change("echo"))),
      this.wish.repeats > 1 ? tick("help thins each time", this.wish.fade, (on) => { this.wish.fade = on; this.track = null; }) : "",
      tick("over and over (for listening)", this.loop, (on) => { this.loop = on; }),
      this.shown.recorded ? tick("with the recorded accompaniment", this.wish.recorded, (on) => { this.wish.recorded = on; this.wish.echo = 0; this.track = null; this.showControls(); }) : "");
  }

  layersHere() {
    const none = new Set();
    if (!this.shown.tuned) none.add("tune");
    if (!this.shown.cued || this.wish.recorded) none.add("cue");
    if (this.wish.recorded) none.add("tune");
    if (!this.wish.recorded) none.add("accompaniment");
    return Object.keys(LAYERS).filter((layer) => !none.has(layer));
  }

  levels() {
    const rows = this.layersHere().map((layer) => {
      const level = this.player.levels.has(layer) ? this.player.levels.get(layer) : (layer === "tune" ? 0 : 1);
      this.player.setLevel(layer, level);
      const slider = make("input", { type: "range", min: 0, max: 1, step: 0.05, value: level || 0.8, "aria-label": `How loud: ${LAYERS[layer]}` });
      const set = () => this.player.setLevel(layer, box.checked ? Number(slider.value) : 0);
      const box = make("input", { type: "checkbox", checked: level > 0, onchange: set });
      slider.addEventListener("input", set);
      return make("div", {}, make("label", { class: "pair" }, box, LAYERS[layer]), slider);
    });
    return make("fieldset", {}, make("legend", {}, "What you hear"), make("div", { class: "levels" }, rows));
  }

  listening() {
    return listening(this.listens);
  }

  showSpots() {
    const { spots, comings } = this.shown;
    const only = (bar) => () => trying(() => this.only(`${bar}-${bar}`))();
    this.hard.replaceChildren(
      spots.length ? make("h2", {}, "Where it is hard") : "",
      make("ul", { class: "list" }, spots.map((spot) => make("li", {}, make("button", { class: "choice", onclick: only(spot.bar) }, make("b", {}, spot.in_words), spot.why.join("; "))))),
      comings.length ? make("h2", {}, "Where you come in") : "",
      make("ul", { class: "list" }, comings.map((each) => make("li", {}, make("p", {}, each.in_words)))),
    );
  }

  begin = trying(async (clapping) => {
    this.play.disabled = true;
    this.clap.disabled = true;
    try {
      if (!this.track) this.track = await new Track(await post("/api/track", this.wish)).load();
      this.heard.replaceChildren();
      this.sheet.clearLane();
      this.counting.begin(this.track);
      this.clapping = clapping ? await this.newClapping() : null;
      await this.player.start(this.track, { loop: this.loop && !clapping });
      if (this.clapping) await this.clapping.begin();
    } catch (error) {
      if (this.clapping && this.clapping.handlers) this.clapping.close();
      this.clapping = null;
      this.player.stop();
      throw error;
    } finally {
      this.play.disabled = false;
      this.clap.disabled = false;
    }
    this.showPlaying();
    this.step();
  });

  async newClapping() {
    const clapping = new Clapping(this.player, {
      ...heardBy(this.listens), pad: this.pad, onclap: (seconds) => this.showClap(seconds),
    });
    await clapping.open();
    return clapping;
  }

  showClap(seconds) {
    const place = this.track.placeAt(seconds);
    if (place.index !== null) this.sheet.addClap({ ...place, clap: true, repeat: 1 });
  }

  showPlaying() {
    this.play.textContent = "Stop";
    this.clap.hidden = true;
    this.pad.hidden = !(this.clapping && this.listens.source === "keys");
    if (!this.pad.hidden) this.pad.focus();
  }

  step() {
    if (!this.player.playing) return;
    const now = this.player.now;
    const bar = this.track.barAt(now);
    this.sheet.setFrame(now < 0 ? null : bar.index);
    this.counting.show(now);
    if (this.player.endedFor(this.clapping ? this.clapping.tailS : 0)) {
      this.player.stop(true);
      return;
    }
    this.drawing = requestAnimationFrame(() => this.step());
  }

  stop() {
    this.player.stop(false);
  }

  ended(finished) {
    cancelAnimationFrame(this.drawing);
    this.sheet.setFrame(null);
    this.counting.clear();
    this.play.textContent = "Play";
    this.clap.hidden = false;
    this.pad.hidden = true;
    if (this.clapping) this.hear(this.clapping, finished);
    this.clapping = null;
  }

  hear = trying(async (clapping, finished) => {
    this.heard.replaceChildren(make("p", { class: "quiet" }, "Listening to what you played …"));
    let answer = null;
    try {
      answer = await clapping.end(!finished);
    } catch (error) {
      this.heard.replaceChildren(make("p", { class: "trouble" }, error.message));
      return;
    }
    const quarters = (index) => { const bar = this.track.bars.find((each) => each.index === index); return bar ? this.track.placeAt(bar.stop_s - 1e-6).quarters : 4; };
    this.sheet.showLane(answer.lane.map((mark) => ({ ...mark, quarters: quarters(mark.index) })));
    this.heard.replaceChildren(told(answer, {
      again: () => this.begin(true),
      only: answer.amiss ? () => trying(async () => { this.wish.speed = Math.max(0.3, this.wish.speed * 0.8); await this.only(`${answer.amiss[0]}-${answer.amiss[1]}`); })() : null,
      amiss: answer.amiss,
    }));
    this.heard.scrollIntoView({ block: "nearest" });
  });
}
