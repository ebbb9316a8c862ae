"""What can be done, as one types it: the command line's words for it.

Also what is written from the command line says it so: a page kept in a file is read by the same person.
"""

from collections.abc import Mapping

from rhythmtrain.remedies import Wording, worded

# By the name that a sentence gives it; {0}, {1} is what it is done with.
REMEDIES: Mapping[str, str] = {
    "all-in-a-report": ": --report {0} shows them all",
    "another-folder": ": give another with --into",
    "another-part": "say another with --part",
    "begin-earlier": "of --from: begin earlier, or leave --from out",
    "by": " (--{0})",
    "by-bars": " with --bars",
    "by-start": " (--start)",
    "by-taps": " (--taps FILE --end SECONDS)",
    "by-taps-and-marks": " (--taps, --at)",
    "by-value": " (--{0} {1})",
    "check-a-take": "`rhythmtrain check TAKE PASSAGE --keep`",
    "check-metre": "check --metre and --first",
    "check-tempo": "check --tempo, or leave it out",
    "check-with-recording": "check its file again with --timing recording",
    "choose-what-listens": "`rhythmtrain devices` shows what can listen; choose it with --from",
    "clap-it": "rhythmtrain clap {0}",
    "clap-slowly": "`rhythmtrain clap off-beats --speed 0.6`",
    "fewer-bars": "give fewer --bars",
    "from": "with --from {0}",
    "give-a-cue": "give the accompanist's notes with --notes FILE (MusicXML or MIDI), a score's part with --cue-part, the recording and its beat map (--accompaniment, --beats), or write a cue line in the drill",
    "give-recording": "give one with --accompaniment RECORDING --beats FILE, or name it in the drill under [accompaniment]",
    "give-takes": "give a file that `history export` wrote",
    "list-devices": ": rhythmtrain devices lists the ports and devices",
    "list-drills": "see `rhythmtrain drills` for their names",
    "list-takes": "`rhythmtrain history` lists {0}",
    "look-at-devices": "look at `rhythmtrain devices`",
    "map": "(`rhythmtrain map`)",
    "map-all-of": "make a beat map with `rhythmtrain map {0} --taps FILE -o {1}.beats` and give it with --beats (in a drill: beats)",
    "map-bars": "with `rhythmtrain map RECORDING --bars {0}-{1}`",
    "map-bars-of": "make a beat map with `rhythmtrain map {0} --bars {1} --taps FILE -o {2}.beats` and give it with --beats (in a drill: beats)",
    "map-makes-one": "`rhythmtrain map` makes one",
    "mark-between": "say where a bar between begins (--at {0}=SECONDS)",
    "mark-names": "--at names {0}",
    "measure-delay": "rhythmtrain latency measures it",
    "measure-once": "measure it once with rhythmtrain latency",
    "name-a-folder": ": give the name of a folder with --into",
    "next": "To type next:\n  {0}",
    "order": "with --order, such as --order {0}",
    "other-bars": "give other --bars",
    "progress-of": ": rhythmtrain progress PASSAGE",
    "record-the-word": "record it as a word of your own and give its folder with --voice",
    "say-last-bar": "--end is the first beat of the last bar: say which with --bars-count",
    "say-order": "say so with --order {0} (or what it is), or --order {1}",
    "say-times": "say --times {0}",
    "show-it": "; see it with `rhythmtrain show {0}`",
    "tap-elsewhere": "tap with --from midi or --from mic",
    "tap-on": ": --on keys, --on midi or midi:PORT",
    "tap-on-a-pad": ", --on midi",
    "tap-with": "tap with --from {0}",
    "type": "{0}",
    "value": "--{0} {1}",
    "where-it-goes": ": say where it goes with -o FILE",
    "which-take": ", such as `rhythmtrain history again 12`, or --all",
    "write-it-down": "write it down with `rhythmtrain transcribe {0} --metre 4/4 -o drill.toml`",
}  # fmt: skip


def as_typed(sentence: str) -> str:
    """Return ``sentence`` with options and commands in it as one types them."""
    return worded(sentence, TYPED)


def _option(name: str) -> str:
    return f"--{name}"


TYPED = Wording(REMEDIES, _option)
