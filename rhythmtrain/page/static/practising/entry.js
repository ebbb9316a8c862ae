// Practising an entry: the rest counted, the help that thins, each try heard as so much early or late.

import { get, post } from "../ask.js";
import { Cue } from "./cue.js";
import { EntryWave } from "./entry_wave.js";
import { heardBy, listening, listens } from "../listening/listening.js";
import { choices, labelled, make, say, tick, trying } from "../parts.js";
import { Track } from "../sound/player.js";
import { Stand } from "../stand/stand.js";

const NO_ENTRY = "There is no rest of a bar or more before a note here, so there is no entry to practise. Choose a passage with a rest, such as “After the Rest”.";
const USUAL_TRIES = 12;
const MOST_TRIES = 100;
const sentence = (words) => words.slice(0, 1).toUpperCase() + words.slice(1);

export async function entryPlace(main, passage, more) {
  const place = new EntryPractice(main, passage);
  await place.open();
  if (more.get("noted")) await place.cue.tell();
  return () => { place.cue.close(); place.stand.close(); };
}

class EntryPractice {
  constructor(main, passage) {
    this.main = main;
    this.passage = passage;
    this.listens = listens();
    this.speed = 0.7;
    this.tries = USUAL_TRIES;
    this.wave = new EntryWave();
    this.cue = new Cue(() => ({ passage: this.passage, bar: this.bar, speed: this.speed }), (told) => this.ownNow(told));
    this.stand = new Stand({
      asks: "Come in here: any key, or touch", notes: "The notes", indexOf: (bar) => this.indexOf(bar),
      onstate: (state) => this.showState(state), onstep: (bar) => this.wave.sounds(bar),
      onend: (clapping, finished) => this.hear(clapping, finished),
    });
  }

  // The passage is one's own now, with the notes that were brought for it: what they say is told.
  ownNow({ name }) {
    if (name === this.passage) this.cue.tell();
    else location.hash = `entry/${encodeURIComponent(name)}/noted=true`;
  }

  indexOf(bar) {
    const drawn = bar.index === null ? -1 : this.shown.numbers.indexOf(bar.number);
    return drawn < 0 ? null : drawn;
  }

  async open() {
    this.title = make("h1", {}, "Come in");
    this.which = make("p");
    this.go = make("button", { class: "main", hidden: true, onclick: () => (this.stand.playing ? this.stand.stop() : this.attempt()) }, "Go");
    this.next = make("p", { role: "status" });
    this.list = make("ol", { class: "tries" });
    this.said = make("div", { "aria-live": "polite" });
    this.settings = make("div");
    this.main.replaceChildren(this.title, this.which, this.settings,
      make("div", { class: "beside" }, make("div", {}, this.stand.place, this.wave.place), this.stand.counting.place),
      this.said, this.next, this.stand.acting(this.go), this.list);
    this.shown = await get("/api/passage", { passage: this.passage, width: this.stand.width });
    if (this.shown.said.length) say(this.shown.said.join(" "), 15);
    this.stand.sheet.show(this.shown);
    this.title.textContent = `Come in: ${this.shown.title}`;
    if (!this.shown.comings.length) {
      this.which.textContent = NO_ENTRY;
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
    const told = make("span", { "aria-hidden": "true" }, words());
    const slider = make("input", { type: "range", min: 0.4, max: 1.1, step: 0.01, value: this.speed, "aria-valuetext": words() });
    slider.addEventListener("input", () => {
      this.speed = Number(slider.value);
      told.textContent = words();
      slider.setAttribute("aria-valuetext", words());
    });
    this.settings.replaceChildren(
      make("div", { class: "row" },
        labelled("Which entry", choices(entries, this.bar, (value) => { this.bar = Number(value); this.cue.close(); })),
        labelled("How fast", slider), told,
        this.over.length ? tick("with the recording", this.recorded, (on) => { this.recorded = on; this.showSettings(); }) : ""),
      this.cue.place, listening(this.listens), this.finer(),
      make("div", { class: "row" }, make("button", { class: "main", onclick: () => this.begin() }, "Begin")));
  }

  finer() {
    const tries = make("input", { type: "number", class: "figure", min: 1, max: MOST_TRIES, step: 1, value: this.tries, oninput: () => { this.tries = Number(tries.value) || USUAL_TRIES; } });
    return make("details", {}, make("summary", {}, "How many tries"),
      make("div", { class: "row" }, labelled("Tries at most", tries, make("span", { class: "quiet" }, "it ends sooner once you come in three times running without help"))));
  }

  begin = trying(async () => {
    this.cue.close();
    const told = await post("/api/entry", { passage: this.passage, bar: this.bar, speed: this.speed, tries: this.tries, recorded: Boolean(this.recorded) });
    this.course = told.course;
    this.which.textContent = `You come in at ${told.entry}.`;
    this.list.replaceChildren();
    this.said.replaceChildren();
    this.showNext(told.coming);
  });

  showNext(coming) {
    this.go.hidden = !coming;
    this.next.textContent = coming ? `Try ${coming.number}: ${coming.lead_in}. ${sentence(coming.help)}.` : "";
    if (coming) this.go.focus({ preventScroll: true });
    this.settings.hidden = Boolean(coming);
  }

  attempt = trying(() => this.stand.play(async () => {
    const track = await new Track(await post(`/api/entry/${this.course}/track`)).load();
    this.wave.show(track);
    return track;
  }, { heard: () => heardBy(this.listens) }));

  showState(state) {
    this.go.disabled = state === "making";
    this.go.textContent = state === "playing" ? "Stop" : "Go";
    if (state === "playing") this.go.focus({ preventScroll: true });
  }

  hear = trying(async (clapping, finished) => {
    if (!finished && this.stand.player.now < Math.min(...this.stand.track.entries_s)) {
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
