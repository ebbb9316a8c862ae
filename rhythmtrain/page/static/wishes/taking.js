// What one takes away as a file: made by the program as it is practised now, with what is heard now.

import { layersOf } from "./levels.js";
import { make, say, tick } from "../parts.js";

const FILES = [
  ["sheet.pdf", "a sheet to print (PDF)"], ["sheet.html", "a sheet as a page"], ["track.mp3", "this track (MP3)"], ["track.flac", "this track (FLAC)"], ["track.mid", "this track (MIDI)"],
  ["pack.zip", "a pack for a student: tracks from slow to fast, with a page that plays them"], ["entry.zip", "a course for the entry, as files"],
  ["passage.musicxml", "the passage (MusicXML)"], ["passage.mid", "the passage (MIDI)"], ["passage.toml", "the passage (text)"],
];

const PICTURES = [
  ["sheet.png", "a picture (PNG), to send in a message; of several pages, a zip file with one each"],
  ["sheet.svg", "a drawing (SVG), sharp at any size, to put into a text; of several pages, a zip file with one each"],
];

export function taking(wish, shown, player) {
  const look = { pitches: false, count_rests: false };
  const files = FILES.filter(([what]) => what !== "entry.zip" || shown.comings.length);
  const link = ([what, words]) => {
    const a = make("a", { href: "#", download: "" }, words);
    a.addEventListener("click", () => {
      const known = Object.entries({ ...wish(), ...look, layers: sounding(wish(), shown, player) }).filter(([, value]) => value !== null && value !== false);
      a.href = `/api/fetch/${what}?${new URLSearchParams(known)}`;
      if (what.endsWith(".zip")) say("Making it takes a few seconds: the download begins by itself.");
    });
    return make("li", {}, a);
  };
  return make("details", { class: "take" }, make("summary", {}, "Take away: sheets, tracks, packs"), make("ul", { class: "files" }, files.map(link)),
    make("details", {}, make("summary", {}, "A sheet as a picture or a drawing"), make("ul", { class: "files" }, PICTURES.map(link))),
    make("div", { class: "row" }, "A sheet has",
      shown.tuned ? tick("the pitches, on five lines", look.pitches, (on) => { look.pitches = on; }) : "",
      tick("the count of long rests written out", look.count_rests, (on) => { look.count_rests = on; })));
}

// The layers that are on; a track over the recording keeps the recording, whose beats it follows.
function sounding({ recorded }, shown, player) {
  const on = layersOf(shown, recorded).filter((layer) => player.levelOf(layer) > 0 || layer === "accompaniment");
  return on.join(",") || null;
}
