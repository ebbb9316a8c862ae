"""What is said at the page: the controls of the page where a sentence names what one types.

Everything below speaks to whoever typed a command, and says what to type.  At the page the same
sentence has to name a place or a field there.  One table has what is said otherwise, clause by
clause, and one the name of each option; what is not in a table is said as it is.  A test goes
through every sentence that can come here, and none of them may leave naming a command or an option.
"""

import re
from collections.abc import Mapping
from typing import Any

from rhythmtrain.remedies import Wording, all_worded, worded

Document = dict[str, Any]
# Clauses, as patterns; a space stands for any space, also the end of a line.
CLAUSES: tuple[tuple[str, str], ...] = (
    # What to type next has a button or a link of its own.
    (r"\A(?:Or be led through it: )?rhythmtrain (?:show|track|clap|check|enter|practise|progress) .*\Z", ""),
    (r"\n*To type next:\n  .*", ""),
    (r"; see it with `rhythmtrain show [^`]*`", ""),
    (r"  and (\d+) more: --report \S+ shows them all", r"  and \1 more"),
    (r"\(`rhythmtrain map`\)", "(under Recording)"),
    (r", with `rhythmtrain map [^`]*`", ", under Recording"),
    (r"make a beat map with `rhythmtrain map [^`]*` and give it with --beats \(in a drill: beats\)", "tap them under Recording"),
    (r"`rhythmtrain map` makes one", "one is made under Recording"),
    (r"give one with --accompaniment RECORDING --beats FILE, or name it in the drill under \[accompaniment\]", "give it one under Recording"),
    (r"that takes the second at which bar 1 begins \(--start\)", "that takes “Bar 1 begins at second”, under More where a recording is brought"),
    (r": rhythmtrain latency measures it", ": Settings, Sound delay, measures it"),
    (r": measure it once with rhythmtrain latency", ": let the spoken count sound, which comes round less evenly"),
    (r"record it as a word of your own and give its folder with --voice", "record it as a word of your own and bring it under Settings, Your own voice"),
    (r"chosen with --from (?:midi:PORT|mic:DEVICE)\?", "chosen under “I clap with”?"),
    (r"`rhythmtrain devices` shows what can listen; choose it with --from", "Choose under “I clap with” what listens"),
    (r"give the accompanist's notes with --notes FILE \(MusicXML or MIDI\), a score's part with --cue-part, the recording and its beat map \(--accompaniment, --beats\), or write a cue line in the drill", "give it its recording under Recording, or write a cue line under Write"),
    (r" \(--(?:notes|part|taps FILE --end SECONDS|taps, --at|at 1=2\.41)\)", ""),
    (r"(;|:) `rhythmtrain history` lists (?:all there are|them)", r"\1 the list under Days has all there are"),
    (r"say which take, such as `rhythmtrain history again 12`, or --all", "say which take"),
    (r": rhythmtrain clap \S+ begins with it", ": “Clap along” begins with it"),
    (r": rhythmtrain progress PASSAGE", ""),
    (r"give a file that `history export` wrote", "bring one that was saved here, under Days, as “all takes as one file”"),
    (r"check its file again with --timing recording", "bring its file once more, and say under More that you followed the recorded accompaniment"),
    (r"write it down with `rhythmtrain transcribe [^`]*`", "bring it under Write, “or bring a recording of it”"),
    (r"say so with --order (\S+) \(or what it is\), or --order written if", r"say so under “bars as the recording plays them”: \1 (or what it is), or the word written if"),
    (r"say which(?: bars are played)? with --order, such as --order", "say which under “bars as the recording plays them”, such as"),
    (r" \(--(?:at|bars|bars-count) [\d=.:-]+\);", ";"),
    (r"say where a bar between begins \(--at \d+=SECONDS\)", "move the beat where a bar between begins to where you hear it"),
    (r"--at names (bar|beat)", r"a beat that was moved lies on \1"),
    (r"the (\S+ s) of --from: begin earlier, or leave --from out", r"the \1 where you begin: begin earlier"),
    (r"--end is the first beat of the last bar: say which with --bars-count", "the last bar begins at that second: say which bars they are, such as 45-50"),
    (r"\(say another with --part\)", "(choose another under “Whose part”)"),
    (r"choose other --bars|give other --bars", "choose other bars"),
    (r"give fewer --bars", "choose fewer bars"),
    (r"leave it out with --bars", "leave it out"),
    (r"or check --metre and --first", "or check the metre"),
    (r"check --tempo, or leave it out", "check the beats a minute, or leave them out"),
    (r"(such as|bar by bar:) --metre", r"\1"),
    (r"say --tempo", "say the beats a minute"),
    (r"give --tempo", "say the beats a minute"),
    (r"say --times (\d+)", r"say how often it comes: \1"),
    (r": give (?:the name of a folder|another) with --into", ""),
    (r"`rhythmtrain clap [^`]*`", "“Clap along”"),
    (r"`rhythmtrain check [^`]*`", "“Have a recording of yourself heard”"),
    (r"see `rhythmtrain drills` for their names", "Choose has them all"),
)  # fmt: skip
# What is asked for by an option, as the page calls it.
OPTIONS: Mapping[str, str] = {
    "accompaniment": "its recording",
    "aloud": "“counted aloud in it”",
    "as": "“playing”",
    "at": "a beat that is moved",
    "bars": "the bars",
    "bars-count": "the bars",
    "beats": "its beats",
    "cue": "the cue",
    "cue-part": "the accompanist's part",
    "echo": "“Answer”",
    "end": "“second of the last bar”",
    "entry": "the entry",
    "fade": "“help thins each time”",
    "first": "the first count",
    "freely": "“freely”",
    "from": "“I clap with”",
    "instrument": "“my instrument”",
    "clap-only": "clapping alone",
    "layers": "“What you hear”",
    "lead-in": "the bars before",
    "limit": "how many",
    "live": "tapping along",
    "loop": "“over and over”",
    "meet": "“Bars to meet in”",
    "metre": "the metre",
    "notes": "the accompanist's notes",
    "order": "“bars as the recording plays them”",
    "part": "“Whose part”",
    "repeats": "“Play it”",
    "since": "the first day",
    "speed": "“How fast”",
    "steady": "“the recording at an even tempo”",
    "taps": "taps",
    "tempo": "the beats a minute",
    "times": "how often it comes",
    "timing": "“I followed”",
}
# By the name that a sentence gives it; {0}, {1} is what it is done with.
REMEDIES: Mapping[str, str] = {
    "next": "",
    "type": "",
    "by": "",
    "by-value": "",
    "by-taps": "",
    "by-start": " (“Bar 1 begins at second”, under More where a recording is brought)",
    "by-bars": "",
    "fewer-bars": "choose fewer bars",
    "other-bars": "choose other bars",
    "tap-with": "choose under “I clap with” what listens",
    "tap-elsewhere": "choose under “I clap with” what listens",
    "look-at-devices": "look at what this machine has",
    "check-metre": "check the metre",
    "check-tempo": "check the beats a minute, or leave them out",
    "another-part": "choose another under “Whose part”",
    "map": "(under Recording)",
    "map-makes-one": "one is made under Recording",
    "list-drills": "Choose has them all",
    "name-a-folder": "",
    "another-folder": "",
    "measure-delay": "Settings, Sound delay, measures it",
    "all-in-a-report": "",
    "clap-slowly": "“Clap along”",
    "check-a-take": "“Have a recording of yourself heard”",
    "say-times": "say how often it comes: {0}",
    "show-it": "",
    "choose-what-listens": "Choose under “I clap with” what listens",
    "value": "{1}",
    "check-with-recording": "bring its file once more, and say under More that you followed the recorded accompaniment",
    "where-it-goes": "",
    "give-a-cue": "give it its recording under Recording, or write a cue line under Write",
    "give-takes": "bring one that was saved here, under Days, as “all takes as one file”",
    "list-takes": "the list under Days has all there are",
    "which-take": "",
    "progress-of": "",
    "clap-it": "“Clap along”",
    "measure-once": "let the spoken count sound, which comes round less evenly",
    "from": "under “I clap with”",
    "list-devices": "",
    "by-taps-and-marks": "",
    "mark-between": "move the beat where a bar between begins to where you hear it",
    "order": "under “bars as the recording plays them”, such as {0}",
    "say-order": "say so under “bars as the recording plays them”: {0} (or what it is), or the word {1}",
    "tap-on": "",
    "tap-on-a-pad": "",
    "map-bars": "under Recording",
    "map-bars-of": "tap them under Recording",
    "map-all-of": "tap them under Recording",
    "write-it-down": "bring it under Write, “or bring a recording of it”",
    "give-recording": "give it one under Recording",
    "say-last-bar": "the last bar begins at that second: say which bars they are, such as 45-50",
    "begin-earlier": "where you begin: begin earlier",
    "mark-names": "a beat that was moved lies on {0}",
    "record-the-word": "record it as a word of your own and bring it under Settings, Your own voice",
}  # fmt: skip
# Where an answer holds sentences: what is said beside it, what can wait, what went wrong.
SAID = frozenset({"said", "notes", "print", "advice", "sentence", "trouble", "why", "failed"})
# What a program reads is the same wherever it was asked for.
FOR_PROGRAMS = "document"

AT_THE_PAGE = Wording(REMEDIES, OPTIONS.__getitem__)
_CLAUSES = tuple((re.compile(clause.replace(" ", r"\s+")), words) for clause, words in CLAUSES)
_OPTION = re.compile(r"(?<![\w-])--([a-z][a-z-]*[a-z]|[a-z])")


def at_the_page(sentence: str) -> str:
    """Return ``sentence`` with the page's own controls in place of what one types."""
    sentence = worded(sentence, AT_THE_PAGE)
    if "--" not in sentence and "rhythmtrain" not in sentence and "`" not in sentence:
        return sentence
    for clause, words in _CLAUSES:
        sentence = clause.sub(words, sentence)
    return _OPTION.sub(lambda option: OPTIONS.get(option[1], option[0]), sentence)


def told_at_the_page(answer: Document) -> Document:
    """Return the document ``answer`` with whatever is said in it as it is said at the page."""
    return {key: _told(key, value) for key, value in all_worded(answer, _worded).items()}


def _worded(sentence: str) -> str:
    return worded(sentence, AT_THE_PAGE)


def _told(key: str, value: Any) -> Any:
    if key == FOR_PROGRAMS:
        return value
    if isinstance(value, dict):
        return told_at_the_page(value)
    if key in SAID:
        return _sentences(value)
    if isinstance(value, list):
        return [told_at_the_page(each) if isinstance(each, dict) else each for each in value]
    return value


def _sentences(value: Any) -> Any:
    if isinstance(value, str):
        return at_the_page(value)
    if isinstance(value, list):
        return [
            told_at_the_page(each) if isinstance(each, dict) else _sentences(each) for each in value
        ]
    return value
