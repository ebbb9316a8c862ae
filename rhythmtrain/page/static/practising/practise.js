// Practising a passage: see it, hear it, clap along, and read what was heard.

import { get, post } from "../ask.js";
import { finer } from "../wishes/finer.js";
import { told } from "./heard.js";
import { levels } from "../wishes/levels.js";
import { heardBy, listening, listens } from "../listening/listening.js";
import { make, say, trying } from "../parts.js";
import { Track } from "../sound/player.js";
import { recordedTake } from "../wishes/sent.js";
import { Stand } from "../stand/stand.js";
import { taking } from "../wishes/taking.js";
import { whosePart } from "../wishes/whose_part.js";
import { barsAsked, barsInWords, howFast, howOften, slower, usualWish, whichBars } from "../wishes/wishing.js";

const OWN = "Clap here: any key, or touch";
const THEIRS = "Clap the accompanist’s rhythm here: any key, or touch";

export async function practisePlace(main, passage, more) {
  const place = new Practice(main, passage);
  place.wish.bars = more.get("bars");
  place.tempo = Number(more.get("tempo")) || null;
  await place.open();
  return () => place.stand.close();
}

class Practice {
  constructor(main, passage) {
    this.main = main;
    this.wish = usualWish(passage);
    this.listens = listens();
    this.clapped = { over: false, theirs: false };
    this.stand = new Stand({
      asks: OWN, notes: "The notes. Choose bars with the fields below, or by dragging over them.",
      onstate: (state) => this.showState(state), onend: (clapping, finished) => this.ended(clapping, finished),
      onchoose: (first, last) => this.choose(first, last),
    });
  }

  async open() {
    this.title = make("h1", {}, "…");
    this.about = make("p", { class: "quiet" });
    const clicked = (clapping) => () => (this.stand.playing ? this.stand.stop() : this.begin(clapping));
    this.play = make("button", { class: "main", onclick: clicked(false) }, "Play");
    this.clap = make("button", { class: "main", onclick: clicked(true) }, "Clap along");
    this.only = make("button", { hidden: true, onclick: () => this.take(this.chosen) });
    this.pace = make("div");
    this.settings = make("div", { class: "settings" });
    this.heard = make("section", { "aria-live": "polite", "aria-label": "What was heard" });
    this.hard = make("div");
    this.main.replaceChildren(
      this.title, this.about,
      make("div", { class: "beside" }, this.stand.place, this.stand.counting.place),
      this.stand.acting(this.play, this.clap, this.only), this.pace,
      this.heard, this.settings, this.hard,
    );
    this.showState("making");
    await this.draw();
    this.showState("still");
  }

  async draw() {
    const { passage, bars } = this.wish;
    this.shown = await get("/api/passage", { passage, bars, width: this.stand.width });
    this.title.textContent = this.shown.title;
    this.about.textContent = this.shown.about;
    if (this.shown.said.length) say(this.shown.said.join(" "), 15);
    this.stand.sheet.show(this.shown);
    this.theirs = false;
    this.only.hidden = true;
    if (this.tempo) this.wish.speed = this.tempo / this.shown.tempo;
    this.tempo = null;
    this.showWishes();
    this.showSpots();
  }

  choose(first, last) {
    this.chosen = barsAsked(this.shown.whole, first, last);
    this.only.textContent = `Only ${barsInWords(first, last)}`;
    this.only.hidden = false;
  }

  take = trying(async (bars) => {
    this.stand.stop();
    this.wish.bars = bars;
    this.heard.replaceChildren();
    await this.draw();
  });

  showWishes() {
    const { wish, shown } = this;
    this.pace.replaceChildren(howFast(wish, shown));
    this.settings.replaceChildren(
      shown.scored ? whosePart(wish.passage) : "", whichBars(wish, shown, this.take), howOften(wish, shown, this.clapped, () => this.showWishes()),
      levels(this.stand.player, shown, wish.recorded), finer(wish), listening(this.listens),
      recordedTake(() => wish, shown, { onwait: (words) => this.wait(words), onheard: (answer) => this.showHeard(answer) }),
      taking(() => wish, shown, this.stand.player),
    );
  }

  showSpots() {
    const { spots, comings } = this.shown;
    const item = (spot) => make("li", {}, make("button", { class: "choice", onclick: () => this.take(`${spot.bar}-${spot.bar}`) }, make("b", {}, spot.in_words), spot.why.join("; ")));
    this.hard.replaceChildren(
      spots.length ? make("h2", {}, "Where it is hard") : "", make("ul", { class: "list" }, spots.map(item)),
      comings.length ? make("h2", {}, "Where you come in") : "",
      make("ul", { class: "list" }, comings.map((each) => make("li", {}, make("p", {}, each.in_words)))),
    );
  }

  // The track as it is wished for now; the last one where nothing was changed since.
  async made(clapping, theirs) {
    const { over } = this.clapped;
    const asked = { ...this.wish, ...(over ? { repeats: 1, fade: false } : {}), over: over && clapping, theirs };
    const key = JSON.stringify(asked);
    if (this.key !== key) this.track = await new Track(await post("/api/track", asked)).load();
    this.key = key;
    return this.track;
  }

  begin = trying(async (clapping, theirs = clapping && this.clapped.theirs && this.shown.cued) => {
    this.heard.replaceChildren();
    try {
      await this.stand.play(async () => {
        await this.showNotes(theirs);
        return this.made(clapping, theirs);
      }, { heard: () => (clapping ? heardBy(this.listens) : null), loop: this.clapped.over && !clapping });
    } catch (error) {
      // Whatever it was, the track is made afresh for the next time.
      this.key = null;
      throw error;
    }
  });

  // The notes that are clapped: one's own, or the accompanist's.
  async showNotes(theirs) {
    if (theirs === this.theirs) return;
    const { passage, bars } = this.wish;
    this.stand.sheet.show(theirs ? await get("/api/passage", { passage, bars, width: this.stand.width, theirs }) : this.shown);
    this.stand.pad.textContent = theirs ? THEIRS : OWN;
    this.theirs = theirs;
  }

  showState(state) {
    this.play.textContent = state === "playing" ? "Stop" : "Play";
    this.clap.hidden = state === "playing";
    this.play.disabled = state === "making";
    this.clap.disabled = state === "making";
    if (state === "playing") this.play.focus({ preventScroll: true });
  }

  ended(clapping, finished) {
    if (clapping) this.hear(clapping, finished);
  }

  wait(words) {
    this.heard.replaceChildren(words ? make("p", { class: "quiet" }, words) : "");
  }

  hear = trying(async (clapping, finished) => {
    this.wait("Listening to what you played …");
    let answer = null;
    try {
      answer = await clapping.end(!finished);
    } catch (error) {
      this.heard.replaceChildren(make("p", { class: "trouble" }, error.message));
      return;
    }
    this.showHeard(answer);
  });

  showHeard(answer) {
    this.stand.sheet.lane.show(answer.lane);
    const [first, last] = answer.amiss || [];
    this.heard.replaceChildren(told(answer, {
      again: () => this.begin(true, this.theirs),
      own: this.theirs ? () => this.begin(true, false) : null,
      only: answer.amiss ? () => { this.wish.speed = slower(this.wish.speed); this.take(`${first}-${last}`); } : null,
    }));
    this.heard.scrollIntoView({ block: "nearest" });
    this.heard.querySelector("button").focus({ preventScroll: true });
  }
}
