// Over the days: what to do today and why, how every bar goes, and the takes that were kept.

import { bring, get, post } from "../ask.js";
import { labelled, make, say, trying } from "../parts.js";

const LONG = { day: "numeric", month: "long" };
const day = (text) => new Date(text).toLocaleDateString("en-GB", LONG);

export async function daysPlace(main) {
  const [told, kept] = await Promise.all([get("/api/days"), get("/api/takes")]);
  if (told.said.length) say(told.said.join(" "), 20);
  if (!told.passages.length) {
    main.replaceChildren(
      make("h1", {}, "What to do today"),
      make("p", {}, "Nothing was kept yet. Choose a passage, clap along once, slowly: from then on this page says what to do next, and why."),
      make("div", { class: "row" }, make("a", { href: "#choose" }, "Choose a passage")), elsewhere());
    return;
  }
  main.replaceChildren(
    make("h1", {}, "What to do today"),
    make("div", {}, today(told)),
    make("h2", {}, "How it goes"),
    make("iframe", { src: "/api/days/page", title: "How every passage goes over the days", class: "whole" }),
    make("h2", {}, "Takes"), ...takes(kept.takes), allAgain(), elsewhere());
}

function allAgain() {
  const text = make("pre", { class: "told", role: "status" });
  const button = make("button", { onclick: trying(async () => {
    button.disabled = true;
    text.textContent = "Judging them again: a moment for each …";
    try {
      const told = await post("/api/takes/again");
      text.textContent = [told.text, ...told.said].join("\n");
    } catch (error) {
      text.textContent = "";
      throw error;
    } finally {
      button.disabled = false;
    }
  }) }, "Judge them all");
  return make("details", { class: "take" }, make("summary", {}, "Judge all takes again, by today’s rules"),
    make("p", {}, "Every take is kept as it was clapped, so that better rules of a new version can be held to it. What changed is said, and kept."),
    make("div", { class: "row" }, button), text);
}

function link(item) {
  if (!item.on_shelf) return null;
  const place = item.entry ? "entry" : "practise";
  const more = new URLSearchParams();
  if (item.bars.length) more.set("bars", `${item.bars[0]}-${item.bars[item.bars.length - 1]}`);
  more.set("tempo", item.tempo);
  return `#${place}/${encodeURIComponent(item.on_shelf)}/${more}`;
}

function today(told) {
  const items = told.today.map((each) => {
    const to = link(each);
    return make("li", {}, to ? make("a", { class: "choice", href: to }, make("b", {}, each.words), each.reason) : make("div", { class: "choice" }, make("b", {}, each.words), each.reason));
  });
  return [
    items.length ? make("ul", { class: "list" }, items) : make("p", {}, "Nothing is due today: let a night pass. What is slept on stays better than what is done again at once."),
    told.later.length ? make("p", { class: "quiet" }, `Later: ${told.later.map((each) => `${each.title} on ${day(each.due)}`).join(", ")}.`) : "",
  ];
}

function elsewhere() {
  const back = make("input", { type: "file", accept: ".jsonl" });
  back.addEventListener("change", trying(async () => {
    const [file] = back.files;
    if (!file) return;
    const told = await bring("/api/takes/file", { file: file.name }, await file.arrayBuffer());
    await daysPlace(document.getElementById("main"));
    say(told.text, 20);
  }));
  return make("details", { class: "take" }, make("summary", {}, "Keep the takes elsewhere, or bring them back"),
    make("p", {}, make("a", { href: "/api/takes/file", download: "" }, "all takes as one file")), labelled("takes that were kept so", back));
}

function takes(kept) {
  const text = make("pre", { class: "told", role: "status" });
  const tell = (asking) => trying(async () => {
    const told = await asking();
    text.textContent = [told.text, ...told.said].join("\n");
    text.scrollIntoView({ block: "nearest" });
  });
  const rows = kept.map((each) => make("tr", {},
    make("th", { scope: "row" }, String(each.id)),
    make("td", {}, each.title, make("span", { class: "quiet when" }, day(each.played_at))),
    make("td", { class: "hear" }, make("div", { class: "acts" },
      make("button", { onclick: tell(() => get(`/api/kept/${each.id}`)) }, "show"),
      make("button", { onclick: tell(() => post(`/api/kept/${each.id}/again`)) }, "judge again"),
      make("button", { class: "plain", onclick: trying(async () => {
        if (!window.confirm("Delete this take for good?")) return;
        await post(`/api/kept/${each.id}/delete`);
        await daysPlace(document.getElementById("main"));
      }) }, "delete")))));
  return [make("div", { class: "scrolls", tabindex: 0 }, make("table", {}, make("thead", {}, make("tr", {}, ["take", "passage", ""].map((each) => make("th", { scope: "col" }, each)))), make("tbody", {}, rows))), text];
}
