"""Clapped passages for trials of writing down: eight beats, clapped with spread, lag and drift.

The passages are drawn from the figures of ``rhythms``, which know nothing of how common a figure is
in music: each of a half's figures is as likely as it stands there.  ``"tune"`` served to find mistakes;
``"held out"`` and ``"unseen"`` see ``transcribe_table``.
"""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from rhythmtrain.score.metre import Metre
from tests.simulate.rhythms import HALVES

Random = np.random.Generator
METRES = {"tune": "4/4", "held out": "2/4", "unseen": "4/4"}
BEATS = 8


@dataclass(frozen=True, slots=True)
class Clapped:
    """A passage: its metre and tempo, where its notes are, in quarters, and when they were clapped."""

    metre: Metre
    tempo: float
    places: tuple[Fraction, ...]
    tries: tuple[tuple[float, ...], ...]


@dataclass(frozen=True, slots=True)
class Clapper:
    """How a person claps: seconds of spread and lag, drift as a share from beginning to end."""

    tempo: float = 90.0
    spread_s: float = 0.020
    lag_s: float = 0.030
    drift: float = 0.0
    tries: int = 1


def clapped(half: str, number: int, clapper: Clapper) -> Clapped:
    """Return one trial: the passage depends on ``half`` and ``number`` alone."""
    rng = np.random.default_rng((HALVES[half].seed, 77, number))
    return from_places(Metre.parse(METRES[half]), _passage(half, rng), rng, clapper)


def _passage(half: str, rng: Random) -> tuple[Fraction, ...]:
    while True:
        figures = [str(rng.choice(HALVES[half].simple)).split() for _ in range(BEATS)]
        places = tuple(
            beat + Fraction(share) for beat, figure in enumerate(figures) for share in figure
        )
        if places[:1] == (Fraction(0),):
            return places


def from_places(
    metre: Metre, places: tuple[Fraction, ...], rng: Random, clapper: Clapper
) -> Clapped:
    """Return ``places`` (quarters from the first) as they are clapped."""
    quarter_s = 60 / clapper.tempo
    length = float(places[-1])
    tries = []
    for index in range(clapper.tries):
        exact = np.array([float(place) for place in places])
        exact = exact * (1 + 0.5 * clapper.drift * exact / max(length, 1.0)) * quarter_s
        played = exact + rng.normal(0, clapper.spread_s, len(exact)) + clapper.lag_s
        start = 1.0 + index * (length + 6.3) * quarter_s
        tries.append(tuple(np.sort(played + start).tolist()))
    return Clapped(metre, clapper.tempo / float(metre.tempo_value), places, tuple(tries))
