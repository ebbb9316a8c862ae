"""What can be done, at the page: the place or field there that each remedy and option has.

What a sentence from below holds is a value (``remedies``); this is the page's word for each.  Where
the page has no need of it, because a button stands there anyway, nothing is said.
"""

from collections.abc import Mapping
from typing import Any

from rhythmtrain.remedies import Wording, all_worded, worded

Document = dict[str, Any]
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
    "taps": "taps",
    "tempo": "the beats a minute",
    "times": "how often it comes",
    "timing": "“I followed”",
}
# What has a button or a link of its own, or is there only for those who type.
NOT_SAID = (
    "all-in-a-report", "another-folder", "by", "by-bars", "by-taps", "by-taps-and-marks",
    "by-value", "list-devices", "name-a-folder", "next", "progress-of", "show-it", "tap-on",
    "tap-on-a-pad", "type", "where-it-goes", "which-take",
)  # fmt: skip
# By the name that a sentence gives it; {0}, {1} is what it is done with.
REMEDIES: Mapping[str, str] = dict.fromkeys(NOT_SAID, "") | {
    "another-part": "choose another under “Whose part”",
    "begin-earlier": "where you begin: begin earlier",
    "by-start": " (“Bar 1 begins at second”, under More where a recording is brought)",
    "check-a-take": "“Have a recording of yourself heard”",
    "check-metre": "check the metre",
    "check-tempo": "check the beats a minute, or leave them out",
    "check-with-recording": "bring its file once more, and say under More that you followed the recorded accompaniment",
    "choose-what-listens": "Choose under “I clap with” what listens",
    "clap-it": "“Clap along”",
    "clap-slowly": "“Clap along”",
    "fewer-bars": "choose fewer bars",
    "from": "under “I clap with”",
    "give-a-cue": "bring the accompanist's notes under “What is played before it: how much, whose notes”, give it its recording under Recording, or write a cue line under Write",
    "give-recording": "give it one under Recording",
    "give-takes": "bring one that was saved here, under Days, as “all takes as one file”",
    "list-drills": "Choose has them all",
    "list-takes": "the list under Days has all there are",
    "look-at-devices": "look at what this machine has",
    "map": "(under Recording)",
    "map-all-of": "tap them under Recording",
    "map-bars": "under Recording",
    "map-bars-of": "tap them under Recording",
    "map-makes-one": "one is made under Recording",
    "mark-between": "move the beat where a bar between begins to where you hear it",
    "mark-names": "a beat that was moved lies on {0}",
    "measure-delay": "Settings, Sound delay, measures it",
    "measure-once": "let the spoken count sound, which comes round less evenly",
    "order": "under “bars as the recording plays them”, such as {0}",
    "other-bars": "choose other bars",
    "record-the-word": "record it as a word of your own and bring it under Settings, Your own voice",
    "say-last-bar": "the last bar begins at that second: say which bars they are, such as 45-50",
    "say-order": "say so under “bars as the recording plays them”: {0} (or what it is), or the word {1}",
    "say-times": "say how often it comes: {0}",
    "tap-elsewhere": "choose under “I clap with” what listens",
    "tap-with": "choose under “I clap with” what listens",
    "value": "{1}",
    "write-it-down": "bring it under Write, “or bring a recording of it”",
}  # fmt: skip


def at_the_page(sentence: str) -> str:
    """Return ``sentence`` with the page's own controls for what can be done."""
    return worded(sentence, AT_THE_PAGE)


def told_at_the_page(answer: Document) -> Document:
    """Return the document ``answer`` with whatever is said in it as it is said at the page."""
    told: Document = all_worded(answer, at_the_page)
    return told


AT_THE_PAGE = Wording(REMEDIES, OPTIONS.__getitem__)
