// What was heard of a class: a row a student and a column a bar, what each is to do first, and each
// student's own page.  The teacher's line is kept while it is typed.

import { post } from "../ask.js";
import { renaming } from "./rename.js";
import { labelled, make, trying } from "../parts.js";

export const classLink = (name, student = null) => `#class//${new URLSearchParams(student ? { class: name, student } : { class: name })}`;
const KEEP_AFTER_MS = 700;
const STRANGE = "does not sound like this passage";

export function heardOfClass(one, heard) {
  return make("section", { "aria-label": "What was heard" },
    make("h2", {}, heard.passage),
    make("div", { class: "row" },
      make("a", { class: "go", href: `${one.way}/zip`, download: "" }, "Take everything away (zip)"),
      make("a", { class: "go", href: `${one.way}/page/class.html`, target: "_blank", rel: "noopener" }, "The page of the class, to print")),
    heard.students.length ? [bars(one, heard), first(one, heard)] : make("p", {}, "Not one recording could be heard."),
    heard.not_heard.length ? [make("h3", { id: "class-unheard" }, "Could not be heard"), make("dl", { class: "each", "aria-labelledby": "class-unheard" },
      heard.not_heard.map((each) => make("div", {}, make("dt", {}, each.recording), make("dd", {}, each.why))))] : "");
}

function bars(one, heard) {
  const longest = heard.students.reduce((most, each) => (each.bars.length > most.length ? each.bars : most), []);
  const head = make("tr", {}, make("th", { scope: "col" }, "Bar"), longest.map((each) => make("th", { scope: "col" }, each.bar ? String(each.bar) : "up")));
  const rows = heard.students.map((each) => make("tr", {}, make("th", { scope: "row" }, link(one, each)),
    each.looks_like_the_passage
      ? each.bars.map((cell) => make("td", { class: cell.words === "right" ? "quiet" : null }, make("span", { class: "shape", "aria-hidden": "true" }, cell.shape || "–"), cell.words))
      : make("td", { colspan: longest.length }, each.clapped_instead ? `${each.clapped_instead}, not the rhythm` : STRANGE)));
  return [
    make("p", { class: "quiet" }, "A row tells of the recording that went best; the name opens the student’s page, where bars can be heard."),
    make("p", { class: "key quiet" }, heard.key.map(([shape, words]) => make("span", {}, make("span", { "aria-hidden": "true" }, `${shape} `), words))),
    make("div", { class: "scrolls class", tabindex: 0, role: "region", "aria-label": "A row a student, a column a bar" },
      make("table", { class: "cells" }, make("thead", {}, head), make("tbody", {}, rows)))];
}

const link = (one, each) => make("a", { href: classLink(one.name, each.page) }, each.name);

function first(one, heard) {
  return [make("h3", {}, "What each is to do first"),
    heard.students.map((each) => make("div", { class: "student" },
      make("p", {}, make("b", {}, link(one, each)), " ", make("span", { class: "quiet" }, `${heard.right[each.name]}, ${each.pace}`)),
      make("p", {}, each.first),
      line(one, each, () => {})))];
}

// The teacher's own line for a student: kept a moment after the last letter, and when the field is left.
function line(one, each, onkept) {
  const field = make("input", { type: "text", maxlength: 500, value: each.note, autocomplete: "off", placeholder: "yours to write" });
  const kept = make("span", { class: "quiet", role: "status" });
  let waiting = null;
  const keep = trying(async () => {
    clearTimeout(waiting);
    const { value } = field;
    if (value === each.note) return;
    kept.textContent = "";
    await post(`${one.way}/line`, { student: each.name, line: value });
    each.note = value;
    kept.textContent = "kept";
    onkept();
  });
  field.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(keep, KEEP_AFTER_MS); });
  field.addEventListener("change", keep);
  const words = make("span", {}, "From you", make("span", { class: "unseen" }, ` for ${each.name}`));
  return make("div", { class: "line" }, labelled(words, field), kept);
}

export function studentPage(one, students, chosen) {
  const each = students[chosen];
  const src = `${one.way}/page/${encodeURIComponent(each.page)}`;
  const frame = make("iframe", { class: "whole tall", src, title: `${each.name}: what was heard` });
  const beside = (place, words) => (students[place] ? make("a", { class: "go", href: classLink(one.name, students[place].page) }, `${words}: ${students[place].name}`) : "");
  return [
    make("p", { class: "quiet" }, make("a", { href: classLink(one.name) }, `Back to ${one.told.title}`)),
    make("h1", {}, each.name),
    line(one, each, () => { frame.src = src; }),
    frame,
    renaming(one.way, [each.name], (name) => one.renamed(name)),
    make("div", { class: "row" }, beside(chosen - 1, "Before"), beside(chosen + 1, "Next"),
      make("a", { class: "go", href: src, target: "_blank", rel: "noopener" }, "This page in a tab of its own"))];
}
