"""An entry course on the page of a pack: try after try, each with its answer beside it."""

from dataclasses import dataclass
from typing import Any

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.report.packs.facts import ENTRIES, drawn_twice, facts_line, said_of, short_tempo
from rhythmtrain.report.words import sentence, several
from rhythmtrain.score.difficulty.hard import HardSpot, hard_spots
from rhythmtrain.score.passage import Passage

# What one does on each step of help.
HELP_WORDS: dict[str, str] = {
    "rests counted aloud": "The rests are counted aloud: count with them.",
    "every other bar counted": "Every other bar is counted; count the others yourself.",
    "click and preparation": "Click, and the word before the entry: count the rests yourself.",
    "preparation alone": "Only the word before the entry: count along with what you hear.",
    "no help": "A bar is counted, then nothing helps: count, breathe and come in.",
    "no help but the click": "Nothing but the click: count, breathe and come in.",
}
HOW = "Come in, then hear the answer, where the entry is clapped: was it where you played?"

Facts = dict[str, Any]


@dataclass(frozen=True, slots=True)
class PackedTry:
    """One try: its help by name, where it begins and its tempo in words, its two files.

    The files are relative to the page.
    """

    help: str
    begins: str
    tempo: str
    file: str
    answer: str


@dataclass(frozen=True, slots=True)
class PackedEntry:
    """The course of one entry, in words, of a passage; ``tries`` in the order they are made.

    ``cue`` are sentences on what leads to it.
    """

    passage: Passage
    folder: str
    entry: str
    tries: tuple[PackedTry, ...]
    recorded: bool = False
    cue: tuple[str, ...] = ()


def begins_in_words(tried: Try, bar: int) -> str:
    """Return where a track begins: "from bar 3, eight bars before the entry"."""
    before = f"{several(tried.lead, 'bar')} before the entry" if tried.lead else "the entry's own"
    return f"from bar {bar}, {before}"


def entry_facts(packed: PackedEntry, name: str) -> Facts:
    """Return what the template says of a course; ``name`` is its id on the page."""
    passage = packed.passage
    spots = hard_spots(passage)
    firsts: dict[str, int] = {}
    for place, each in enumerate(packed.tries):
        firsts.setdefault(each.tempo, place)
    slowest, written = packed.tries[0].tempo, packed.tries[-1].tempo
    return {
        "id": name,
        "title": passage.title,
        "about": passage.about,
        "facts": facts_line(passage, written, recorded=packed.recorded),
        "value": slowest.partition(" = ")[0],
        "ladder": [
            {"tempo": short_tempo(tempo), "at": f"{name}-{place}"}
            for tempo, place in firsts.items()
        ],
        **drawn_twice(passage, spots),
        "said": [("The entry", [sentence(packed.entry), *packed.cue, HOW]), *_said(packed, spots)],
        "steps": [_try(packed, each, f"{name}-{place}") for place, each in enumerate(packed.tries)],
        "rungs": [],
        "midi": [],
    }


def _said(packed: PackedEntry, spots: tuple[HardSpot, ...]) -> list[tuple[str, list[str]]]:
    """Return what else is said; bars cut down to a beat map do not tell how long the rest is."""
    said = said_of(packed.passage, spots)
    return [each for each in said if not (packed.recorded and each[0] == ENTRIES)]


def _try(packed: PackedEntry, each: PackedTry, name: str) -> Facts:
    title = each.help.capitalize()
    return {
        "id": name,
        "tick": f"{packed.folder}/entry/{short_tempo(each.tempo)}/{each.help}",
        "name": title,
        "tempo": each.tempo,
        "how": f"{sentence(each.begins)} {HELP_WORDS[each.help]}",
        "tracks": [
            {
                "id": f"{name}-{button}".lower(),
                "name": f"{title}{'' if button == 'Try' else ', the answer'}",
                "button": button,
                "tempo": each.tempo,
                "label": f"{button}, {each.help}, {each.begins}, {each.tempo}",
                "file": file,
            }
            for button, file in (("Try", each.file), ("Answer", each.answer))
        ],
    }
