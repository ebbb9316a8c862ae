// The lane under the notes: where each clap fell, and afterwards what was heard of it.  The notes
// themselves stay black.

import { make } from "../parts.js";

const MOST_ROWS = 8;
const ROW = "1.15rem";
// Before a bar's first sign a quarter is so wide.
const BEFORE_PX = 30;

export class Lane {
  constructor(sheet) {
    this.sheet = sheet;
    this.marks = [];
    this.opened = false;
    this.signs = new Map();
  }

  // Takes where the drawn signs stand, so that marks can stand between them.
  place(signs) {
    this.signs = new Map();
    for (const sign of signs) {
      const element = this.sheet.place.querySelector(`#${sign.name}`);
      if (!element) continue;
      if (!this.signs.has(sign.index)) this.signs.set(sign.index, []);
      this.signs.get(sign.index).push({ at: sign.at, element });
    }
  }

  // Makes room before anything is clapped, so that the notes stay where they are while one reads them.
  open() {
    this.opened = true;
    this.show([]);
  }

  clear() {
    this.opened = false;
    this.show([]);
  }

  // Shows marks: {index, at, quarters, repeat, shape, colour}, or {…, clap: true} while it plays.
  show(marks) {
    this.marks = marks;
    this.redraw();
  }

  add(mark) {
    this.marks.push(mark);
    this.draw(mark);
  }

  // Of more times than there are rows the last ones are shown.
  redraw() {
    const times = Math.max(1, ...this.marks.map((mark) => mark.repeat || 1));
    const rows = Math.min(times, MOST_ROWS);
    this.over = times - rows;
    for (const { lane } of this.sheet.lines) {
      lane.replaceChildren();
      lane.classList.toggle("open", this.opened || this.marks.length > 0);
      lane.style.setProperty("--rows", rows);
    }
    this.marks.forEach((mark) => this.draw(mark));
  }

  draw(mark) {
    if (!mark.clap && mark.repeat <= this.over) return;
    const place = this.placeOf(mark.index, mark.at, mark.quarters || 4);
    if (!place) return;
    const drawn = mark.clap ? make("span", { class: "clap" }) : make("span", { class: "mark" }, mark.shape);
    drawn.style.left = `${place.x}px`;
    if (!mark.clap) {
      drawn.style.color = mark.colour;
      drawn.style.top = `calc(${ROW} * ${mark.repeat - this.over - 1} + .15rem)`;
    }
    place.lane.append(drawn);
  }

  // Where quarter `at` of a bar lies, in pixels from the left edge of its lane: between its signs.
  placeOf(index, at, quarters) {
    const bar = this.sheet.barAt(index);
    const box = this.sheet.boxOf(index);
    if (!bar || !box) return null;
    const lane = bar.lane.getBoundingClientRect();
    const origin = this.sheet.place.getBoundingClientRect();
    const points = (this.signs.get(index) || []).map((sign) => {
      const head = (sign.element.querySelector(".notehead") || sign.element).getBoundingClientRect();
      return [sign.at, (head.left + head.right) / 2 - origin.left];
    });
    if (!points.length) points.push([0, box.left + 12]);
    points.push([Math.max(quarters, points[points.length - 1][0] + 0.01), box.right]);
    let x = points[0][1] + (at - points[0][0]) * BEFORE_PX;
    for (let k = 0; k + 1 < points.length; k += 1) {
      const [[low, from], [high, to]] = [points[k], points[k + 1]];
      if (at >= low && (at <= high || k + 2 === points.length)) x = from + ((at - low) / (high - low || 1)) * (to - from);
    }
    return { lane: bar.lane, x: x - (lane.left - origin.left) };
  }
}
