// A teacher's classes: those that are kept, and a new one made of a folder or of several files.

import { get, post } from "../ask.js";
import { bringAll, dropped, picked } from "./bring.js";
import { classLink } from "./heard.js";
import { OneClass } from "./one.js";
import { make, say, trying } from "../parts.js";

const several = (many, what) => `${many} ${what}${many === 1 ? "" : "s"}`;
const day = (text) => new Date(text).toLocaleDateString("en-GB", { day: "numeric", month: "long" });

export async function classPlace(main, passage, more) {
  const place = new Classes(main, passage);
  window.addEventListener("drop", place.drop, true);
  await place.open(more.get("class"), more.get("student"));
  return () => place.close();
}

class Classes {
  constructor(main, passage) {
    this.main = main;
    this.passage = passage;
    // What is dropped here goes into a class, before the page takes it for a score.
    this.drop = (event) => {
      event.preventDefault();
      event.stopPropagation();
      trying(async () => this.bring(await dropped(event.dataTransfer)))();
    };
  }

  close() {
    window.removeEventListener("drop", this.drop, true);
    this.gone = true;
    if (this.one) this.one.close();
  }

  async open(name, student) {
    this.known = await get("/api/classes");
    if (name === null) this.list();
    else {
      this.one = new OneClass(this.main, name, this.passage, () => this.bringing());
      await this.one.open(student);
    }
  }

  list() {
    this.title = make("input", { type: "text", id: "class-title", autocomplete: "off", maxlength: 120, size: 24 });
    const { classes } = this.known;
    this.main.replaceChildren(
      make("h1", {}, "Hear a class"),
      make("p", {}, "Bring what your students sent, a folder or single files: any recording or phone video will do. A folder within it is a student, and so is a single file. Everything stays on this machine."),
      make("h2", {}, "A new class"),
      make("div", { class: "row" }, make("span", { class: "pair" }, make("label", { for: "class-title" }, "Its name"), this.title), make("span", { class: "quiet" }, "(else the folder’s)")),
      this.bringing(),
      make("h2", {}, "Your classes"),
      classes.length ? make("ul", { class: "list" }, classes.map((each) => this.row(each))) : make("p", { class: "quiet" }, "None yet."));
  }

  row(each) {
    const heard = each.heard_at ? `${each.passage}, heard on ${day(each.heard_at)}` : "not heard yet";
    return make("li", { class: "own" },
      make("a", { class: "choice", href: classLink(each.class) }, make("b", {}, each.title),
        make("span", { class: "quiet" }, `${several(each.students, "student")}, ${several(each.recordings, "recording")}; ${heard}`)),
      make("button", { class: "plain", "aria-label": `Take ${each.title} away`, onclick: trying(async () => {
        if (!window.confirm(`Take “${each.title}” away for good? Its recordings here and its pages go; your own files stay where they are.`)) return;
        await post(`/api/class/${each.class}/away`);
        this.known = await get("/api/classes");
        this.list();
        this.main.focus();
      }) }, "take away"));
  }

  // The two ways to bring recordings by hand, and where it is told how far they are.
  bringing() {
    const folder = make("input", { type: "file", id: "class-folder", multiple: true });
    folder.setAttribute("webkitdirectory", "");
    const accept = `audio/*,video/*,${this.known.endings.join(",")}`;
    const files = make("input", { type: "file", id: "class-files", multiple: true, accept });
    for (const field of [folder, files]) field.addEventListener("change", trying(() => field.files.length && this.bring(picked(field.files))));
    this.going = make("div");
    return make("div", {},
      make("div", { class: "ways" },
        make("span", { class: "pair" }, make("label", { for: "class-folder" }, "A whole folder"), folder),
        make("span", { class: "pair" }, make("label", { for: "class-files" }, "or several files"), files)),
      make("p", { class: "quiet" }, "You can also drop a folder or files anywhere on this page."),
      this.going);
  }

  async bring({ title, files }) {
    if (this.busy) {
      say("Recordings are being brought just now: wait until they are here.");
      return;
    }
    this.busy = true;
    const into = async () => (this.one ? this.one.name : (await post("/api/classes", { title: this.title.value || title || `Class of ${day(Date.now())}` })).class);
    const name = await bringAll(this.going, files, this.known, into).finally(() => { this.busy = false; });
    if (this.gone || name === null) return;
    if (this.one) await this.one.open(null);
    else location.hash = classLink(name);
  }
}
