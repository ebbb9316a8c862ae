"""A passage as the page shows it: its notation, drawn for a screen, and where everything in it stands."""

from fractions import Fraction
from pathlib import Path
from typing import Any

from rhythmtrain.devices.engraver import engrave
from rhythmtrain.errors import DrillError, RhythmtrainError
from rhythmtrain.rehearsal.clapping.rounds import theirs
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.shelf import called_plainly, passage_path
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.desk.whose_part import is_scored
from rhythmtrain.rehearsal.passages.passages import find_passage, whole_passage
from rhythmtrain.rehearsal.recorded.accompaniment import (
    NO_FILES,
    accompaniment_for,
    mapped_bars,
)
from rhythmtrain.rehearsal.recorded.sounding import sound_doubts
from rhythmtrain.report.passage.document import show_json
from rhythmtrain.report.sheets.measures import SheetLook
from rhythmtrain.report.sheets.mei import mei_of
from rhythmtrain.report.sheets.screen import screen_systems
from rhythmtrain.report.sheets.svg import drawing_of
from rhythmtrain.report.words import bar_in_words, count_in_words
from rhythmtrain.score.difficulty.hard import hard_spots
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.score.entries import entries_of
from rhythmtrain.score.notation.notation import notated
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.settings import preferences

NARROWEST, WIDEST = 500, 3_000
Document = dict[str, Any]


def passage_shown(sitting: Sitting, asked: Asked) -> Document:
    """Return the passage "passage" as it is drawn "width" wide, with what is known of it.

    "bars" ("17-24") picks bars, "part" and "cue_part" parts of a score, "five" lines with pitches,
    "theirs" the accompanist's rhythm in place of one's own.

    Raises:
        RequestError: no such passage, bars or part.
        DrillError, FileError: it does not read.
        MissingPartError, DeviceError: what draws is missing, or it failed.
    """
    name = passage_path(sitting, asked.text("passage"))
    said: list[str] = []
    part, cue_part = asked.maybe_text("part"), asked.maybe_text("cue_part")
    passage = find_passage(
        name, asked.maybe_text("bars"), part=part, cue_part=cue_part, say=said.append
    )
    if asked.truth("theirs"):
        passage = theirs(passage, passage.title)
    whole = whole_passage(name, part=part, cue_part=cue_part)
    told = drawn(passage, asked) | show_json(passage)
    numbers = [bar.number for bar in whole.bars]
    recorded = _recorded(name, passage, whole)
    if recorded:
        said += sound_doubts(name)
    return told | {
        "title": called_plainly(Path(name), passage.title),
        "about": passage.about,
        "whole": [numbers[0], numbers[-1]],
        "recorded": recorded,
        "mapped": _mapped(name, whole),
        "scored": is_scored(name) and Path(name).parent == sitting.folders.passages,
        "cued": bool(passage.cue),
        "tuned": any(place.pitches for bar in passage.bars for place in bar.places),
        "said": said,
    }


def text_drawn(_sitting: Sitting, asked: Asked) -> Document:
    """Return the drill that is being written in "text" as it is drawn so far.

    What does not read yet is no failure: "trouble" then says what and in which line and column.
    """
    try:
        passage = _read(asked.text("text"))
    except DrillError as error:
        return {"trouble": {"message": error.message, "line": error.line, "column": error.column}}
    return drawn(passage, asked) | {"trouble": None, "title": passage.title}


def _read(text: str) -> Passage:
    passage = read_drill(text, name="your passage").passage
    if passage is None:
        raise DrillError("it has no rhythm yet: write what is counted between the quotation marks")
    return passage


def drawn(passage: Passage, asked: Asked) -> Document:
    """Return the systems of ``passage`` as SVG, where its signs stand, its hard spots and entries."""
    width = round(min(max(asked.number("width", 1850), NARROWEST), WIDEST))
    british = preferences().british
    counting = asked.text("counting", "numbers")
    look = SheetLook(five=asked.truth("five"), counting=counting, british=british)
    (systems,) = engrave([mei_of(passage, look)], width=width)
    return {
        "systems": screen_systems([drawing_of(system) for system in systems]),
        "signs": _signs(passage),
        "numbers": [bar.number for bar in passage.bars],
        "spots": [
            {"bar": spot.bar, "in_words": bar_in_words(spot.bar), "why": list(spot.why)}
            for spot in hard_spots(passage, british=british)
        ],
        "comings": [
            {
                "bar": entry.bar,
                "count": entry.count,
                "in_words": f"{bar_in_words(entry.bar)}, {count_in_words(passage, entry.bar, entry.count)}",
            }
            for entry in entries_of(passage)
        ],
    }


def _signs(passage: Passage) -> list[Document]:
    """Return each note and rest that is drawn: its name, its bar's place, its quarter in the bar."""
    return [
        {
            "name": f"b{index}s{number}",
            "index": index,
            "at": float(sign.at),
            "stop": float(sign.at + sign.length),
            "note": sign.begins and not sign.rest,
        }
        for index, bar in enumerate(notated(passage.bars))
        for number, sign in enumerate(bar.signs)
        if sign.length > Fraction(0)
    ]


def _recorded(name: str, passage: Passage, whole: Passage) -> bool:
    """Return whether the passage has a recorded accompaniment that is mapped where it is played."""
    try:
        accompaniment_for(name, passage, whole=whole, files=NO_FILES)
    except RhythmtrainError:
        return False
    return True


def _mapped(name: str, whole: Passage) -> list[int] | None:
    """Return the first and last bar that the map of its accompaniment holds, None without one."""
    try:
        return list(mapped_bars(name, whole))
    except RhythmtrainError:
        return None
