// Counting with one's own voice: recorded words brought, which are there and which are not, on or off.

import { bring, get, post } from "../ask.js";
import { labelled, make, say, tick, trying } from "../parts.js";

const ABOUT = "Count with your own voice, or your teacher’s: bring a folder of short recordings, each named as the word in it, such as one.m4a, two.m4a, and.m4a, ready.m4a. What is not there is said by the supplied voice.";
const MOST_SHOWN = 20;
const several = (many, what) => `${many} ${what}${many === 1 ? "" : "s"}`;

export class OwnVoice {
  constructor() {
    this.words = make("div");
    this.came = make("div", { role: "status" });
    this.on = make("div");
    this.place = make("fieldset", {}, make("legend", {}, "Your own voice"), make("p", {}, ABOUT), this.bringing(), this.came, this.on, this.words);
  }

  async open() {
    this.show(await get("/api/voice"));
  }

  bringing() {
    const field = (id, folder) => {
      const files = make("input", { type: "file", id, multiple: true, accept: "audio/*,video/*" });
      if (folder) files.setAttribute("webkitdirectory", "");
      files.addEventListener("change", trying(async () => {
        await this.bring([...files.files]);
        files.value = "";
      }));
      return files;
    };
    return make("div", { class: "row" }, labelled("A whole folder", field("voice-folder", true)), labelled("or several files", field("voice-files", false)));
  }

  async bring(files) {
    const wrong = [];
    let came = 0;
    for (const file of files.filter((each) => !each.name.startsWith("."))) {
      say(`Taking ${file.name} …`, 60);
      try {
        await bring("/api/voice/bring", { file: file.name }, await file.arrayBuffer());
        came += 1;
      } catch (error) {
        wrong.push(error.message);
      }
    }
    say("");
    this.came.replaceChildren(
      make("p", {}, `${several(came, "word")} came.`),
      ...wrong.slice(0, MOST_SHOWN).map((line) => make("p", { class: "trouble" }, line)),
      wrong.length > MOST_SHOWN ? make("p", { class: "trouble" }, `And ${wrong.length - MOST_SHOWN} more were not taken.`) : "");
    await this.open();
  }

  show({ words, others, on }) {
    const mine = words.filter((each) => each.own);
    const rest = words.filter((each) => !each.own);
    const here = [...mine.map((each) => [each.own, each.text]), ...others.map((name) => [name, name])];
    const choose = trying(async (wanted) => { await post("/api/settings", { own_voice: wanted }); });
    this.on.replaceChildren(here.length ? tick("count with these recordings", on, choose) : "");
    if (!here.length) {
      this.words.replaceChildren(make("p", { class: "quiet" }, "None yet: every word is said by the supplied voice."));
      return;
    }
    this.words.replaceChildren(
      make("p", {}, make("b", {}, `Yours (${here.length}): `), here.map(([, text]) => text).join(", "), "."),
      make("details", {}, make("summary", {}, `Still said by the supplied voice: ${several(rest.length, "word")}`), make("p", { class: "quiet" }, rest.map((each) => each.text).join(", "))),
      make("details", {}, make("summary", {}, "Take words away"), make("div", { class: "row" }, here.map(([name, text]) => this.away(name, text)))));
  }

  away(name, text) {
    return make("button", { "aria-label": `Take “${text}” away`, onclick: trying(async () => {
      if (!window.confirm(`Take your “${text}” away? Your own file stays where it is.`)) return;
      this.show(await post("/api/voice/away", { word: name }));
      this.place.querySelector("summary").focus();
    }) }, text);
  }
}
