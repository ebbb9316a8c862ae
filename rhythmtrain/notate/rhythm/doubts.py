"""How sure a reading is, figure by figure and bar by bar.

Each figure of the best reading is exchanged for every other with as many notes, all else kept, and
the onsets are weighed again: the share of the best is how sure that figure is.  A bar is as sure as
its figures together, and never surer than the share that all readings which have that bar have of
all the readings found: so notes that might belong to the next beat count too.
"""

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from rhythmtrain.notate.rhythm.beam import TABLE_BEATS
from rhythmtrain.notate.rhythm.figures import Figure
from rhythmtrain.notate.rhythm.filter import Floats, weigh
from rhythmtrain.notate.rhythm.search import Found

# Alternatives that are less likely than this are not worth a word.
NAMED_FROM = 0.1


@dataclass(frozen=True, slots=True)
class FigureDoubt:
    """How sure the figure on a beat (index from 0) is, and the next best one where it is named."""

    beat: int
    chance: float
    other: Figure | None


def figure_doubts(found: Found, tries: Sequence[Floats]) -> tuple[FigureDoubt, ...]:
    """Return how sure each figure of the best reading is, in order."""
    best = np.array(found.readings[0].figures, dtype=np.intp)
    came = Counter(
        (found.beats[index].kind, int(number)) for index, number in enumerate(best) if number >= 0
    )
    return tuple(
        _doubt(found, tries, best, index, came) for index in range(len(best)) if best[index] >= 0
    )


def _doubt(
    found: Found,
    tries: Sequence[Floats],
    best: np.ndarray,
    index: int,
    came: "Counter[tuple[int, int]]",
) -> FigureDoubt:
    beat = found.beats[index]
    here = beat.figures[best[index]]
    able = [
        number
        for number, figure in enumerate(beat.figures)
        if len(figure.at) == len(here.at)
        and figure.beats == here.beats
        and np.isfinite(figure.log_chance)
    ]
    if len(able) == 1 or not here.at:
        return FigureDoubt(index, 1.0, None)
    rows = np.tile(best, (len(able), 1))
    rows[:, index] = able
    weights = weigh(tries, found.beats, rows, found.timing, found.readings[0].pauses)
    again = [came[beat.kind, number] - (number == best[index]) for number in able]
    table = np.exp([beat.figures[number].log_chance for number in able])
    weights = weights + np.log(TABLE_BEATS * table + again)
    chances = np.exp(weights - np.logaddexp.reduce(weights))
    order = np.argsort(-chances, kind="stable")
    chance = float(chances[able.index(best[index])])
    second = next(int(place) for place in order if able[place] != best[index])
    other = beat.figures[able[second]] if chances[second] >= NAMED_FROM else None
    return FigureDoubt(index, chance, other)


def bar_shares(found: Found, bar_of_beat: Sequence[int]) -> dict[int, float]:
    """Return for each bar the share of all readings that have it as the best one has."""
    weights = np.array([each.log_weight for each in found.readings])
    shares = np.exp(weights - np.logaddexp.reduce(weights))
    beats: dict[int, list[int]] = defaultdict(list)
    for index, bar in enumerate(bar_of_beat):
        beats[bar].append(index)
    told = {}
    for bar, inside in beats.items():
        rows = [_notes(found, each.figures, inside) for each in found.readings]
        alike = [row == rows[0] for row in rows]
        told[bar] = float(np.sum(shares[np.array(alike)]))
    return told


def _notes(
    found: Found, figures: Sequence[int], beats: Sequence[int]
) -> tuple[tuple[Fraction, ...], ...]:
    """Return the places of the notes that a reading has on some beats."""
    numbers = [figures[index] if index < len(figures) else -1 for index in beats]
    return tuple(
        found.beats[index].figures[number].at if number >= 0 else ()
        for index, number in zip(beats, numbers, strict=True)
    )
