// Choosing bars by dragging over the notes, with a mouse, a pen or a finger.

import { make } from "../parts.js";

export class Choosing {
  // `onchoose` is told the numbers of the first and the last bar that were chosen.
  constructor(sheet, onchoose) {
    Object.assign(this, { sheet, onchoose, from: null, chosen: null });
    this.place = make("div", { class: "bars" });
    if (!onchoose) return;
    const on = (name, handler) => sheet.place.addEventListener(name, handler);
    on("pointerdown", (event) => this.press(event));
    on("pointermove", (event) => this.drag(event));
    on("pointerup", () => this.release());
    on("pointercancel", () => this.forget());
  }

  clear() {
    this.from = null;
    this.mark(null);
  }

  mark(chosen) {
    this.chosen = chosen;
    this.redraw();
  }

  redraw() {
    this.place.replaceChildren();
    if (!this.chosen) return;
    const rows = new Map();
    for (let index = this.chosen[0]; index <= this.chosen[1]; index += 1) {
      const box = this.sheet.boxOf(index);
      if (!box) continue;
      const row = rows.get(box.line) || { ...box };
      row.left = Math.min(row.left, box.left);
      row.right = Math.max(row.right, box.right);
      rows.set(box.line, row);
    }
    for (const { left, right, top, bottom } of rows.values()) {
      const part = make("div", { class: "chosen" });
      Object.assign(part.style, { left: `${left}px`, top: `${top}px`, width: `${right - left}px`, height: `${bottom - top}px` });
      this.place.append(part);
    }
  }

  under(event) {
    const origin = this.sheet.place.getBoundingClientRect();
    const [x, y] = [event.clientX - origin.left, event.clientY - origin.top];
    for (const [index, box] of this.sheet.boxes) {
      if (x >= box.left && x <= box.right && y >= box.top && y <= box.bottom) return index;
    }
    return null;
  }

  press(event) {
    if (event.button) return;
    this.from = this.under(event);
    this.to = this.from;
    if (this.from !== null) this.sheet.place.setPointerCapture(event.pointerId);
  }

  drag(event) {
    if (this.from === null) return;
    const at = this.under(event);
    if (at === null || at === this.to) return;
    this.to = at;
    this.mark([Math.min(this.from, at), Math.max(this.from, at)]);
  }

  release() {
    if (this.from === null) return;
    const chosen = [Math.min(this.from, this.to), Math.max(this.from, this.to)];
    this.from = null;
    this.mark(chosen);
    this.onchoose(...chosen.map((index) => this.sheet.numbers[index]));
  }

  // A finger that began to scroll chooses nothing.
  forget() {
    if (this.from !== null) this.clear();
  }
}
