"""Finding the passage that a person names, and how it is to be practised."""

import re
from dataclasses import dataclass
from pathlib import Path

from rhythmtrain.errors import DrillError, RequestError
from rhythmtrain.rehearsal.passages.from_scores import (
    Say,
    passage_of_drill,
    passage_of_score,
    unsaid,
)
from rhythmtrain.remedies import option
from rhythmtrain.report.take.commands import as_options
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.drills import drill_path, load_drill
from rhythmtrain.storage.scores import is_score
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
    part: str | None = None
    cue_part: str | None = None

    @property
    def options(self) -> str:
        """Return what one types after the passage's name to mean the same part of it."""
        return as_options({"part": self.part, "cue-part": self.cue_part})


def find_passage(
    name: str,
    bars: str | None = None,
    *,
    part: str | None = None,
    cue_part: str | None = None,
    say: Say = unsaid,
) -> Passage:
    """Return the passage in the drill file, the score, or the supplied drill, called ``name``.

    ``bars`` is "17-24" or "17", as printed; ``part`` and ``cue_part`` are names or numbers of parts of a
    score.  ``say`` is given each sentence on what was taken, or did not fit.

    Raises:
        RequestError: bars or a part that do not exist.
        DrillError, FileError: the drill or score does not read.
    """
    passage = whole_passage(name, part=part, cue_part=cue_part, say=say)
    if bars is None:
        return passage
    first, last = bar_range(bars)
    return excerpt(passage, first, last)


def wished_passage(wish: Wish, say: Say = unsaid) -> Passage:
    """Return the passage that ``wish`` names; as ``find_passage``."""
    return find_passage(wish.passage, wish.bars, part=wish.part, cue_part=wish.cue_part, say=say)


def whole_passage(
    name: str, *, part: str | None = None, cue_part: str | None = None, say: Say = unsaid
) -> Passage:
    """Return all the bars of the passage called ``name``; as ``find_passage``."""
    if is_score(name):
        return passage_of_score(Path(name), part, cue_part, say)
    drill = load_drill(name)
    if drill.score is not None:
        return passage_of_drill(drill, drill_path(name), (part, cue_part), say)
    if part is not None or cue_part is not None:
        raise RequestError(
            f"{option('part')} and {option('cue-part')} are for scores, and {name} is a drill"
        )
    if drill.passage is None:
        raise DrillError("it has neither a rhythm nor a score", file=drill.name)
    return drill.passage


def bar_range(text: str) -> tuple[int, int]:
    """Return the first and last bar of "17-24" or "17"."""
    match = re.fullmatch(r"\s*(\d{1,5})\s*(?:-\s*(\d{1,5})\s*)?", text, re.ASCII)
    if match is None:
        raise RequestError(f"bars must be written like 17-24 or 17, got {text!r}")
    first = int(match[1])
    last = int(match[2]) if match[2] else first
    if last < first:
        raise RequestError(f"bars {first}-{last} run backwards: write the lower number first")
    return first, last


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
        raise RequestError(f"give {option('speed')} or {option('tempo')}, not both")
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
