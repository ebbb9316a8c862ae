// The notes on the page: systems drawn by the program, bars chosen, the sounding bar framed, and
// under the notes a lane for what was clapped.  Only places are worked out here.

import { make } from "./parts.js";

export function wantedWidth(element) {
  // A system is drawn so that notes stay readable: about 1.6 units of the drawing a pixel.
  return Math.round(Math.min(Math.max(element.clientWidth * 1.6, 620), 2000));
}

export class Sheet {
  constructor(place, { onchoose = null } = {}) {
    this.place = place;
    this.onchoose = onchoose;
    this.from = null;
    this.framed = null;
    place.classList.add("sheet");
    place.addEventListener("pointerdown", (event) => this.press(event));
    place.addEventListener("pointermove", (event) => this.drag(event));
    window.addEventListener("pointerup", () => this.release());
    new ResizeObserver(() => this.lay()).observe(place);
  }

  // Shows what the program drew: {systems, signs, numbers}.
  show(drawn) {
    this.drawn = drawn;
    this.lines = drawn.systems.map((svg) => {
      const line = make("div", { class: "line" });
      line.innerHTML = svg;
      const lane = make("div", { class: "lane", "aria-hidden": "true" });
      return { line, lane };
    });
    this.frame = make("div", { class: "frame", hidden: true });
    this.choice = make("div", { class: "bars" });
    this.place.replaceChildren(...this.lines.flatMap(({ line, lane }) => [line, lane]), this.choice, this.frame);
    this.bars = new Map();
    this.lines.forEach(({ line, lane }) => {
      for (const measure of line.querySelectorAll("g.measure")) {
        this.bars.set(Number(measure.id.slice(1)), { measure, line, lane });
      }
    });
    this.signs = new Map();
    for (const sign of drawn.signs) {
      const element = this.place.querySelector(`#${sign.name}`);
      if (element) {
        if (!this.signs.has(sign.index)) this.signs.set(sign.index, []);
        this.signs.get(sign.index).push({ ...sign, element });
      }
    }
    this.lay();
  }

  // Bars of rest in a row are one sign: a bar inside it stands where the first does.
  barAt(index) {
    for (let at = index; at >= 0; at -= 1) if (this.bars.has(at)) return this.bars.get(at);
    return null;
  }

  lay() {
    if (!this.bars) return;
    this.boxes = new Map();
    const origin = this.place.getBoundingClientRect();
    for (const [index, bar] of this.bars) {
      const box = bar.measure.getBoundingClientRect();
      const line = bar.line.getBoundingClientRect();
      const staff = (bar.measure.querySelector("g.staff") || bar.measure).getBoundingClientRect();
      this.boxes.set(index, {
        left: Math.min(box.left, staff.left) - origin.left - this.place.clientLeft, right: staff.right - origin.left,
        top: line.top - origin.top, bottom: line.bottom - origin.top, line: bar.line, lane: bar.lane,
      });
    }
    if (this.shownClaps) this.redrawLane();
    if (this.framed !== null) this.setFrame(this.framed);
    if (this.chosenBars) this.setChosen(...this.chosenBars);
  }

  boxOf(index) {
    for (let at = index; at >= 0; at -= 1) if (this.boxes.has(at)) return this.boxes.get(at);
    return null;
  }

  setFrame(index) {
    this.framed = index;
    const still = localStorage.getItem("still") === "yes";
    const box = index === null || still ? null : this.boxOf(index);
    this.frame.hidden = !box;
    if (!box) return;
    Object.assign(this.frame.style, {
      left: `${box.left - 2}px`, top: `${box.top}px`, width: `${box.right - box.left + 4}px`, height: `${box.bottom - box.top}px`,
    });
    if (index !== this.scrolledTo) {
      this.scrolledTo = index;
      const seen = this.frame.getBoundingClientRect();
      if (seen.bottom > window.innerHeight || seen.top < 0) {
        this.frame.scrollIntoView({ block: "center", behavior: "auto" });
      }
    }
  }

  // Marks the bars from index to index as chosen.
  setChosen(first, last) {
    this.chosenBars = first === null ? null : [first, last];
    this.choice.replaceChildren();
    if (first === null) return;
    const rows = new Map();
    for (let index = first; index <= last; index += 1) {
      const box = this.boxOf(index);
      if (!box) continue;
      const row = rows.get(box.line) || { left: box.left, right: box.right, top: box.top, bottom: box.bottom };
      row.left = Math.min(row.left, box.left);
      row.right = Math.max(row.right, box.right);
      rows.set(box.line, row);
    }
    for (const row of rows.values()) {
      const part = make("div", { class: "chosen" });
      Object.assign(part.style, { left: `${row.left}px`, top: `${row.top}px`, width: `${row.right - row.left}px`, height: `${row.bottom - row.top}px` });
      this.choice.append(part);
    }
  }

  under(event) {
    const origin = this.place.getBoundingClientRect();
    const [x, y] = [event.clientX - origin.left, event.clientY - origin.top];
    for (const [index, box] of this.boxes) {
      if (x >= box.left && x <= box.right && y >= box.top && y <= box.bottom) return index;
    }
    return null;
  }

  press(event) {
    if (!this.onchoose || event.button) return;
    this.from = this.under(event);
    this.to = this.from;
  }

  drag(event) {
    if (this.from === null) return;
    const at = this.under(event);
    if (at !== null && at !== this.to) {
      this.to = at;
      this.setChosen(Math.min(this.from, this.to), Math.max(this.from, this.to));
    }
  }

  release() {
    if (this.from === null) return;
    const [first, last] = [Math.min(this.from, this.to), Math.max(this.from, this.to)];
    this.from = null;
    this.setChosen(first, last);
    this.onchoose(this.drawn.numbers[first], this.drawn.numbers[last]);
  }

  // Where quarter `at` of a bar lies, in pixels from the left edge of its lane: between its signs.
  xOf(index, at, quarters) {
    const bar = this.barAt(index);
    const box = this.boxOf(index);
    if (!bar || !box) return null;
    const lane = bar.lane.getBoundingClientRect();
    const origin = this.place.getBoundingClientRect();
    const points = (this.signs.get(index) || []).map((sign) => {
      const head = (sign.element.querySelector(".notehead") || sign.element).getBoundingClientRect();
      return [sign.at, (head.left + head.right) / 2 - origin.left];
    });
    const right = box.right;
    if (!points.length) points.push([0, box.left + 12]);
    points.push([Math.max(quarters, points[points.length - 1][0] + 0.01), right]);
    let x = points[0][1] + (at - points[0][0]) * 30;
    for (let k = 0; k + 1 < points.length; k += 1) {
      const [[low, from], [high, to]] = [points[k], points[k + 1]];
      if (at >= low && (at <= high || k + 2 === points.length)) x = from + ((at - low) / (high - low || 1)) * (to - from);
    }
    return { lane: bar.lane, x: x - (lane.left - origin.left) };
  }

  clearLane() {
    this.shownClaps = null;
    this.lines.forEach(({ lane }) => {
      lane.replaceChildren();
      lane.classList.remove("open");
    });
  }

  openLane(rows) {
    this.lines.forEach(({ lane }) => {
      lane.classList.add("open");
      lane.style.setProperty("--rows", rows);
    });
  }

  // Marks in the lane: {index, at, quarters, repeat, shape, colour, word}, or {…, clap: true} while it plays.
  showLane(marks) {
    this.shownClaps = marks;
    this.redrawLane();
  }

  addClap(mark) {
    if (!this.shownClaps) this.shownClaps = [];
    if (!this.lines.some(({ lane }) => lane.classList.contains("open"))) this.openLane(1);
    this.shownClaps.push(mark);
    this.drawMark(mark);
  }

  redrawLane() {
    const marks = this.shownClaps;
    this.clearLane();
    this.shownClaps = marks;
    const rows = Math.min(Math.max(1, ...marks.map((mark) => mark.repeat || 1)), 8);
    this.openLane(rows);
    marks.forEach((mark) => this.drawMark(mark));
  }

  drawMark(mark) {
    const place = this.xOf(mark.index, mark.at, mark.quarters || 4);
    if (!place) return;
    const drawn = mark.clap
      ? make("span", { class: "clap" })
      : make("span", { class: "mark" }, mark.shape);
    drawn.style.left = `${place.x}px`;
    if (!mark.clap) {
      drawn.style.color = mark.colour;
      drawn.style.top = `calc(1.15rem * ${Math.min(mark.repeat, 8) - 1} + .15rem)`;
    }
    place.lane.append(drawn);
  }
}
