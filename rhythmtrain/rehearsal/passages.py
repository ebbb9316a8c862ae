"""Finding the passage that a person names, and how it is to be practised."""

import re
from dataclasses import dataclass

from rhythmtrain.errors import RequestError
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.drills import load_drill
from rhythmtrain.timing.timeline import Practice
from rhythmtrain.units import checked_tempo

SLOWEST_SPEED = 0.1
FASTEST_SPEED = 4.0


@dataclass(frozen=True, slots=True)
class Wish:
    """What a person asks to practise: options as typed; None where nothing was said."""

    passage: str
    bars: str | None = None
    speed: float | None = None
    tempo: float | None = None
    repeats: int = 1
    count_in: int = 0
    echo: int = 0


def find_passage(name: str, bars: str | None = None) -> Passage:
    """Return the passage in the drill file, or the supplied drill, called ``name``.

    ``bars`` is "17-24" or "17", as printed.

    Raises:
        RequestError: bars that do not exist.
        DrillError, FileError: the drill does not read.
    """
    passage = load_drill(name).passage
    if passage is None:
        raise RequestError(
            f"{name} takes its rhythm from a score, which cannot be read yet: give it a rhythm"
        )
    if bars is None:
        return passage
    first, last = bar_range(bars)
    return excerpt(passage, first, last)


def bar_range(text: str) -> tuple[int, int]:
    """Return the first and last bar of "17-24" or "17"."""
    match = re.fullmatch(r"\s*(\d{1,5})\s*(?:-\s*(\d{1,5})\s*)?", text, re.ASCII)
    if match is None:
        raise RequestError(f"bars must be written like 17-24 or 17, got {text!r}")
    first = int(match[1])
    return first, int(match[2]) if match[2] else first


def practice_of(wish: Wish, passage: Passage) -> Practice:
    """Return how ``passage`` is practised under ``wish``; no speed said is the written tempo."""
    return Practice(
        speed=speed_of(wish, passage) or 1.0,
        repeats=wish.repeats,
        count_in=wish.count_in,
        echo=wish.echo,
    )


def speed_of(wish: Wish, passage: Passage) -> float | None:
    """Return the share of the written tempo that ``wish`` asks for, or None.

    Raises:
        RequestError: both speed and tempo, or one that is out of range.
    """
    if wish.speed is not None and wish.tempo is not None:
        raise RequestError("give --speed or --tempo, not both")
    if wish.tempo is not None:
        return checked_tempo(wish.tempo) / passage.tempo
    if wish.speed is None:
        return None
    if not SLOWEST_SPEED <= wish.speed <= FASTEST_SPEED:
        raise RequestError(
            f"speed must be {SLOWEST_SPEED:g} to {FASTEST_SPEED:g} times the written tempo "
            f"(0.6 is a little over half as fast), got {wish.speed:g}"
        )
    return wish.speed
