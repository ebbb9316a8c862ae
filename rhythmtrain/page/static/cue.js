// What the accompanist plays before an entry: said, and heard over and over.

import { get } from "./ask.js";
import { make, trying } from "./parts.js";

// `wish` tells the passage, the entry's bar and how fast; nothing sounds any more once `close` is called.
export class Cue {
  constructor(wish) {
    this.wish = wish;
    this.told = make("div", { role: "status" });
    this.place = make("div", {}, make("div", { class: "row" }, make("button", { onclick: () => this.tell() }, "What is played before it")), this.told);
  }

  close() {
    if (this.sound) this.sound.pause();
    this.told.replaceChildren();
  }

  tell = trying(async () => {
    this.close();
    const { passage, bar, speed } = this.wish();
    const told = await get("/api/cue", { passage, bar });
    this.sound = make("audio", { controls: true, src: `/api/cue/sound?${new URLSearchParams({ passage, bar, speed })}`, "aria-label": "What is played before the entry, four times, with your entry clapped" });
    this.told.replaceChildren(make("p", { class: "went" }, told.text.split("\n")[0]), this.sound, make("pre", { class: "told" }, told.text.split("\n").slice(1).join("\n")));
  });
}
