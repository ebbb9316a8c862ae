// The notes on the page: systems drawn by the program, where each of their bars lies, the sounding bar
// framed.  Only places are worked out here.

import { lessMotion, sizeSet, still } from "../calm.js";
import { Choosing } from "./choosing.js";
import { Lane } from "./lane.js";
import { make } from "../parts.js";

const NARROWEST = 620;
const NARROWEST_LARGE = 500;
const WIDEST = 2000;
// So many units of the drawing a pixel keep the notes readable at a music stand; fewer where a person
// set letters and notes larger.
const UNITS = 1.6;
const MARGIN_PX = 10;

export function wantedWidth(element) {
  const larger = sizeSet();
  const narrowest = larger > 1 ? NARROWEST_LARGE : NARROWEST;
  return Math.round(Math.min(Math.max((element.clientWidth * UNITS) / larger, narrowest), WIDEST));
}

export class Sheet {
  // `seen` tells between which heights of the window notes are seen.
  constructor(place, { onchoose = null, seen = () => [0, window.innerHeight] } = {}) {
    this.seen = seen;
    this.place = place;
    this.framed = null;
    this.lines = [];
    this.bars = new Map();
    this.boxes = new Map();
    this.frame = make("div", { class: "frame", hidden: true });
    this.lane = new Lane(this);
    this.choosing = new Choosing(this, onchoose);
    place.classList.add("sheet");
    new ResizeObserver(() => this.lay()).observe(place);
  }

  // Shows what the program drew: {systems, signs, numbers}.
  show(drawn) {
    this.numbers = drawn.numbers;
    this.lines = drawn.systems.map((svg) => {
      const line = make("div", { class: "line" });
      line.innerHTML = svg;
      const lane = make("div", { class: "lane", "aria-hidden": "true" });
      return { line, lane };
    });
    this.place.replaceChildren(...this.lines.flatMap(({ line, lane }) => [line, lane]), this.choosing.place, this.frame);
    this.bars = new Map();
    for (const { line, lane } of this.lines) {
      for (const measure of line.querySelectorAll("g.measure")) this.bars.set(Number(measure.id.slice(1)), { measure, line, lane });
    }
    this.choosing.clear();
    this.lane.clear();
    this.lane.place(drawn.signs);
    this.lay();
  }

  // Bars of rest in a row are one sign: a bar inside it stands where the first does.
  static standing(places, index) {
    for (let at = index; at >= 0; at -= 1) if (places.has(at)) return places.get(at);
    return null;
  }

  barAt(index) {
    return Sheet.standing(this.bars, index);
  }

  boxOf(index) {
    return Sheet.standing(this.boxes, index);
  }

  // Works out where every bar lies, after something changed its place.
  measure() {
    const origin = this.place.getBoundingClientRect();
    for (const [index, bar] of this.bars) {
      const box = bar.measure.getBoundingClientRect();
      const line = bar.line.getBoundingClientRect();
      const staff = (bar.measure.querySelector("g.staff") || bar.measure).getBoundingClientRect();
      this.boxes.set(index, {
        left: Math.min(box.left, staff.left) - origin.left - this.place.clientLeft, right: staff.right - origin.left,
        top: line.top - origin.top, bottom: line.bottom - origin.top, line: bar.line, across: line.width,
      });
    }
  }

  lay() {
    this.boxes = new Map();
    this.measure();
    this.lane.redraw();
    // The lanes may have pushed the lines down.
    this.measure();
    this.setFrame(this.framed);
    this.choosing.redraw();
  }

  // Frames the bar that sounds; for whoever wants less motion its whole line, which changes seldom.
  setFrame(index) {
    this.framed = index;
    const box = index === null || still() ? null : this.boxOf(index);
    this.frame.hidden = !box;
    if (index === null) this.seenLine = null;
    if (!box) return;
    const [left, wide] = lessMotion() ? [0, box.across] : [box.left - 2, box.right - box.left + 4];
    Object.assign(this.frame.style, { left: `${left}px`, top: `${box.top}px`, width: `${wide}px`, height: `${box.bottom - box.top}px` });
    if (box.line !== this.seenLine) {
      this.seenLine = box.line;
      this.bringUp();
    }
  }

  // Brings the line that sounds to where it is seen, with what comes next under it.
  bringUp() {
    const frame = this.frame.getBoundingClientRect();
    const [top, bottom] = this.seen();
    if (frame.top < top || frame.bottom > bottom) window.scrollBy({ top: frame.top - top - MARGIN_PX, behavior: "instant" });
  }
}
