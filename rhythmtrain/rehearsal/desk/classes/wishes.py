"""How a class is to be heard, from what was chosen at the page: checked before anybody is heard.

The values are those of ``rhythmtrain class`` and its ``class.toml``; a slip is one sentence at
once, not one for every student.
"""

from dataclasses import replace
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.checking.beside_recording import beside_recording
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.classes.wish import KINDS, TIMINGS
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.shelf import passage_path
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.passages.passages import practice_of, whole_passage, wished_passage
from rhythmtrain.storage.drills import load_drill
from rhythmtrain.storage.scores import is_score
from rhythmtrain.timing.timeline import lay_out

WISHES = ("passage", "part", "bars", "speed", "tempo", "repeats", "echo", "start", "timing", "kind", "aloud", "freely", "meet")  # fmt: skip
Document = dict[str, Any]


def class_wish_of(sitting: Sitting, asked: Asked) -> CheckWish:
    """Return how the recordings of a class are checked.

    Raises:
        RequestError: no such passage, values out of range or that do not go together.
        DrillError, FileError: the passage, its recording or beat map does not read.
    """
    kind = _one_of(asked, "kind", KINDS)
    timing = _one_of(asked, "timing", TIMINGS)
    aloud = asked.truth("aloud")
    if aloud and kind != KINDS[0]:
        raise RequestError("counting aloud is told from claps only: choose claps, or leave it out")
    speed, tempo = asked.maybe_number("speed"), asked.maybe_number("tempo")
    if speed is not None and tempo is not None:
        raise RequestError("say how fast they played as beats a minute or as a share, not both")
    wish = CheckWish(
        passage_path(sitting, asked.text("passage")),
        bars=asked.maybe_text("bars"),
        speed=speed,
        tempo=tempo,
        repeats=asked.whole("repeats", 1),
        echo=asked.whole("echo", 0),
        part=asked.maybe_text("part"),
        start=asked.maybe_number("start"),
        timing=timing,
        kind=kind,
        aloud=aloud,
    )
    if timing == "recording":
        wish = replace(wish, freely=asked.truth("freely"), meet=asked.maybe_text("meet"))
    return wish


def title_of(wish: CheckWish) -> str:
    """Return what the passage is called, once it is sure that a recording can be held against it.

    Raises:
        RequestError, DrillError, FileError, TakeError: what no recording could be held against.
    """
    passage = wished_passage(wish)
    if wish.timing == "recording":
        _check_recorded(wish)
        whole = whole_passage(wish.passage, part=wish.part)
        beside_recording(wish, wish.beside, passage, whole, start_s=wish.start)
        return passage.title
    lay_out(passage, practice_of(wish, passage))
    return passage.title


def _check_recorded(wish: CheckWish) -> None:
    if is_score(wish.passage) or load_drill(wish.passage).accompaniment is None:
        raise RequestError(
            "this passage has no recorded accompaniment: give it one under Recording, or say that "
            "they followed a click"
        )


def wishes_said(asked: Asked) -> Document:
    """Return what was chosen, so that it stands there again when one comes back."""
    return {key: asked.values[key] for key in WISHES if asked.values.get(key) not in (None, "")}


def _one_of(asked: Asked, key: str, allowed: tuple[str, ...]) -> str:
    value = asked.text(key, allowed[0])
    if value not in allowed:
        raise RequestError(f"there is no {key} {value[:40]!r}: choose {', '.join(allowed)}")
    return value
