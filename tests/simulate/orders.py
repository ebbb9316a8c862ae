"""Performances that repeat or leave out what the score does not say, and a person who counts by it."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from rhythmtrain.notate.beats.marks import Mark
from rhythmtrain.notate.beats.tapping import tap_bias, tap_marks
from tests.simulate.mapping_trials import curves_of
from tests.simulate.performances import Runs, perform_in_order
from tests.simulate.tappers import marked, tapped

if TYPE_CHECKING:
    from rhythmtrain.notate.beats.marked_lattice import Curves

BARS = 24
ORDERS: dict[str, Runs] = {
    "straight": ((0, 23),),
    "first eight twice": ((0, 7), (0, 23)),
    "four in the middle twice": ((0, 11), (8, 23)),
    "four left out": ((0, 7), (12, 23)),
    "eight left out": ((0, 7), (16, 23)),
}
REPEATS = ("first eight twice", "four in the middle twice")
CUTS = ("four left out", "eight left out")
TAPPED_BARS = 2


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """What is heard, and what a person who counts by the score says of it.

    ``bars_more`` is how many bars more (negative: fewer) are played than the score has.
    """

    curves: "Curves"
    marks: tuple[Mark, ...]
    beats_a_bar: int
    bars_said: int
    bars_more: int


def told_by_marks(seed: int, name: str, *, expressive: bool) -> Told:
    """Return the performance of ``seed`` in an order; two bars are tapped, the last is marked."""
    played = perform_in_order(seed, ORDERS[name], expressive=expressive, bars=BARS)
    rng = np.random.default_rng(900 + seed)
    bar, curves = played.piece.beats, curves_of(played)
    taps_s = tapped(rng, played.beats_s)[: TAPPED_BARS * bar]
    bias = tap_bias(taps_s.tolist(), curves.onsets, 100)
    taps = tap_marks([(beat, float(time - bias)) for beat, time in enumerate(taps_s)])
    end = Mark((BARS - 1) * bar, marked(rng, float(played.beats_s[-bar])))
    return Told(curves, (*taps, end), bar, BARS, played.piece.bars - BARS)
