// How a class is to be heard: the passage, which bars, how fast, on what.  The program judges; this asks.

import { choices, labelled, make, tick } from "../parts.js";

const KINDS = [["claps", "clapped or tapped"], ["voice", "sung"], ["wind", "woodwind"], ["brass", "brass"], ["strings", "bowed strings"], ["plucked", "piano, guitar, plucked"]];
const TIMINGS = [["click", "a click or a track"], ["free", "nobody: the tempo may breathe"], ["recording", "the recorded accompaniment"]];

export class Hearing {
  constructor(shelf, asked, passage) {
    this.asked = { kind: "claps", timing: "click", repeats: 1, ...asked };
    this.known = [...shelf.own, ...shelf.supplied];
    // Nothing is heard against a passage that nobody chose.
    const first = [asked.passage, passage].find((name) => this.known.some((each) => each.name === name)) || "";
    this.asked.passage = first;
    const none = first ? [] : [["", "choose …"]];
    const set = (key) => (value) => { this.asked[key] = value; this.suit(); };
    this.passage = choices([...none, ...this.known.map((each) => [each.name, each.title])], first, set("passage"));
    this.ofScore = labelled("Part", this.text("part", "its name or number", 16));
    this.bars = this.text("bars", "all of them", 9);
    this.tempo = this.figure("tempo", { min: 10, max: 400, step: "any" });
    this.repeats = this.figure("repeats", { min: 1, max: 99, step: 1 });
    this.echo = this.figure("echo", { min: 0, max: 16, step: 1 });
    this.start = this.figure("start", { min: 0, step: "any" });
    this.meet = this.text("meet", "1,5,9", 9);
    this.aloud = tick("they counted aloud while they clapped", Boolean(this.asked.aloud), set("aloud"));
    this.freely = tick("freely: only the bars where they must meet are held to it", Boolean(this.asked.freely), set("freely"));
    this.meeting = labelled("Bars to meet in", this.meet);
    this.leads = this.figure("lead_in", { min: 0, max: 32, step: 1, placeholder: "2" });
    this.recorded = make("div", { class: "row" }, this.freely, this.meeting, labelled("Before each repeat came", this.leads, "bars of the recording"));
    this.place = make("div", {},
      make("div", { class: "row" },
        labelled("Passage", this.passage),
        this.ofScore,
        labelled("Bars", this.bars)),
      make("div", { class: "row" },
        labelled("They", choices(KINDS, this.asked.kind, set("kind"))), this.aloud),
      make("div", { class: "row" },
        labelled("Beats a minute", this.tempo, make("span", { class: "quiet" }, "leave it empty, and it is found in each recording"))),
      make("details", {}, make("summary", {}, "More"),
        make("div", { class: "row" },
          labelled("They followed", choices(TIMINGS, this.asked.timing, set("timing"))),
          labelled("The passage comes", this.repeats, "times in a recording"),
          labelled("They gave back", this.echo, "bars at a time (an echo)")),
        this.recorded,
        make("div", { class: "row" },
          labelled("Bar 1 begins at second", this.start, make("span", { class: "quiet" }, "leave it empty, and it is found")))));
    this.suit();
  }

  text(key, placeholder, size) {
    return make("input", { type: "text", placeholder, size, autocomplete: "off", value: this.asked[key] || "", onchange: (event) => { this.asked[key] = event.target.value.trim(); } });
  }

  figure(key, limits) {
    return make("input", { type: "number", class: "figure", ...limits, value: this.asked[key] ?? "", onchange: (event) => { this.asked[key] = event.target.value === "" ? null : Number(event.target.value); } });
  }

  // Shows what belongs to what was chosen.
  suit() {
    this.aloud.hidden = this.asked.kind !== "claps";
    this.ofScore.hidden = !this.known.some((each) => each.name === this.asked.passage && each.about === "from a score");
    this.recorded.hidden = this.asked.timing !== "recording";
  }

  values() {
    const { asked } = this;
    const recorded = asked.timing === "recording";
    return { ...asked, part: this.ofScore.hidden ? null : asked.part, echo: asked.echo || 0, repeats: asked.repeats || 1, aloud: asked.kind === "claps" && Boolean(asked.aloud), freely: recorded && Boolean(asked.freely), meet: recorded ? asked.meet : null, ...(recorded && asked.lead_in !== null ? { lead_in: asked.lead_in } : { lead_in: undefined }) };
  }
}
