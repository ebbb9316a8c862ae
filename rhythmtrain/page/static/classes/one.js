// One class: who is in it, how it is to be heard, how far that is, and what was heard.

import { get, post } from "../ask.js";
import { Going, lately } from "./bring.js";
import { classLink, heardOfClass, studentPage } from "./heard.js";
import { renaming } from "./rename.js";
import { Hearing } from "./wish.js";
import { make, say, trying } from "../parts.js";

const ASK_EVERY_MS = 400;
const ASK_AGAIN_MS = 15_000;
const GOING = ["waits", "hears"];
const several = (many, what) => `${many} ${what}${many === 1 ? "" : "s"}`;

export class OneClass {
  constructor(main, name, passage, bringing) {
    this.main = main;
    this.name = name;
    this.way = `/api/class/${encodeURIComponent(name)}`;
    this.passage = passage;
    this.bringing = bringing;
  }

  close() {
    this.gone = true;
    clearTimeout(this.waiting);
  }

  async open(student) {
    const [told, shelf] = await Promise.all([get(this.way), get("/api/shelf")]);
    if (this.gone) return;
    this.told = told;
    this.shelf = shelf;
    const { heard } = told;
    const chosen = heard && heard.students.findIndex((each) => each.page === student);
    if (student && heard && chosen >= 0) {
      this.main.replaceChildren(...studentPage(this, heard.students, chosen));
      return;
    }
    this.lay();
    if (this.goes(told.hearing)) this.watch();
  }

  goes(hearing) {
    return hearing !== null && GOING.includes(hearing.state);
  }

  lay() {
    const { told } = this;
    const students = new Set(told.recordings.map((each) => each.student)).size;
    this.going = make("div");
    this.hear = make("button", { class: "main", disabled: !told.recordings.length, onclick: trying(() => this.begin()) }, told.heard ? "Hear them again" : "Hear them all");
    this.wish = new Hearing(this.shelf, told.asked, this.passage);
    const lines = lately.name === this.name ? lately.lines : [];
    lately.name = null;
    this.main.replaceChildren(
      make("p", { class: "quiet" }, make("a", { href: "#class" }, "All classes")),
      make("h1", {}, told.title),
      make("p", { class: "quiet" }, `${several(students, "student")}, ${several(told.recordings.length, "recording")} here.`),
      lines.length ? make("div", { class: lately.wrong ? "trouble" : null }, lines.map((each) => make("p", {}, each))) : "",
      told.trouble ? make("p", { class: "trouble" }, told.trouble) : "",
      this.ended(),
      told.heard ? heardOfClass(this, told.heard) : "",
      make("h2", {}, told.heard ? "Hear them again" : "What they played"),
      this.wish.place,
      make("div", { class: "row" }, this.hear), this.going,
      make("h2", {}, told.recordings.length ? "Bring more" : "Bring recordings"),
      this.bringing(),
      this.recordings(), this.naming());
  }

  naming() {
    const students = [...new Set(this.told.recordings.map((each) => each.student))].sort((one, other) => one.localeCompare(other));
    return students.length ? renaming(this.way, students, async (name) => { await this.open(null); say(`${name} it is.`); }) : "";
  }

  // The page of a student has the student's name.
  async renamed(name) {
    const { heard } = await get(this.way);
    location.hash = classLink(this.name, heard.students.find((each) => each.name === name).page);
  }

  // What the last hearing came to, where that is not what is shown below.
  ended() {
    const { hearing, heard } = this.told;
    if (hearing && hearing.state === "failed") return make("p", { class: "trouble" }, hearing.sentence);
    if (hearing && hearing.state === "stopped") return make("p", {}, "You stopped the hearing. All recordings are here; they can be heard again.");
    if (heard && heard.changed) return make("p", { class: "trouble" }, "Recordings came or went since this class was heard: hear it again.");
    return "";
  }

  recordings() {
    const { recordings } = this.told;
    if (!recordings.length) return "";
    const rows = recordings.map((each) => make("tr", {},
      make("th", { scope: "row" }, each.called), make("td", {}, each.student),
      make("td", { class: "hear" }, make("button", { class: "plain", "aria-label": `Leave ${each.called} out`, onclick: trying(async () => {
        if (!window.confirm(`Leave “${each.called}” out of this class? Your own file stays where it is.`)) return;
        await post(`${this.way}/leave-out`, { recording: each.recording });
        await this.open(null);
        this.main.focus();
      }) }, "leave out"))));
    return make("details", {}, make("summary", {}, `All ${several(recordings.length, "recording")}`),
      make("div", { class: "scrolls", tabindex: 0, role: "region", "aria-label": "All recordings" }, make("table", {},
        make("thead", {}, make("tr", {}, ["recording", "student", ""].map((each) => make("th", { scope: "col" }, each)))), make("tbody", {}, rows))));
  }

  async begin() {
    if (!this.wish.asked.passage) {
      say("Which passage did they play? Choose it first.");
      this.wish.passage.focus();
      return;
    }
    try {
      await post(`${this.way}/hear`, this.wish.values());
      say("");
    } catch (error) {
      // Another page may have begun already: then both look on.
      if (!this.goes((await get(`${this.way}/hear`)).hearing)) throw error;
    }
    if (!this.gone) this.watch();
  }

  watch() {
    const going = new Going("Students that are heard", trying(async () => { going.stop.disabled = true; await post(`${this.way}/stop`); }));
    this.going.replaceChildren(going.place);
    this.hear.disabled = true;
    going.place.focus();
    this.look(going);
  }

  async look(going) {
    if (this.gone) return;
    let soon = ASK_EVERY_MS;
    try {
      const { hearing } = await get(`${this.way}/hear`);
      if (this.gone) return;
      if (!this.goes(hearing)) {
        await this.finished(hearing);
        return;
      }
      const words = hearing.state === "waits" ? "Another class is heard first." : `${hearing.done} of ${several(hearing.total, "student")} heard`;
      going.tell(hearing.done, hearing.total, words);
    } catch (error) {
      say(error.message, 20);
      soon = ASK_AGAIN_MS;
    }
    this.waiting = setTimeout(() => this.look(going), soon);
  }

  async finished(hearing) {
    await this.open(null);
    if (this.gone) return;
    if (hearing && hearing.state === "done") say(`${several(this.told.heard.students.length, "student")} heard.`);
    window.scrollTo(0, 0);
    this.main.focus({ preventScroll: true });
  }
}
