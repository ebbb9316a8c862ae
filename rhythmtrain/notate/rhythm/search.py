"""Finding the spread, the drift and, where nobody said it, the tempo under which onsets make sense.

The readings of ``beam`` suppose a spread and a wander.  Here each of a few of both is tried,
and each of a row of tempi where none is given, and the one under which the onsets are likeliest (the
sum over its readings, times how likely such a player is) is taken.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import inf, log

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.notate.rhythm.beam import Reading, read_onsets
from rhythmtrain.notate.rhythm.figures import Figure, figures
from rhythmtrain.notate.rhythm.filter import Timing, WrittenBeat
from rhythmtrain.score.metre import Metre

Floats = NDArray[np.float64]

# Spread of one onset in seconds, and how many players in a hundred have it: practised people tap
# with 2 to 4 % of the interval, others with 20 to 40 ms (Repp 2005); the finest are machines.
SPREADS_S: tuple[tuple[float, float], ...] = (
    (0.003, 10),
    (0.01, 20),
    (0.02, 40),
    (0.035, 20),
    (0.06, 10),
)
# Wander of the tempo from one quarter to the next: following a click, steady,
# less steady, unsteady.
WANDERS: tuple[tuple[float, float], ...] = ((0.0005, 50), (0.004, 25), (0.012, 20), (0.03, 5))
GIVEN_TEMPO_SD, TRIED_TEMPO_SD = 0.04, 0.03
# Tempi tried where none is given, in beats a minute, 6 % apart; the commonest is about 88 and two
# thirds lie within a factor of 1.5 of it (common practice, no source).  Where less than a quarter is
# counted, as in 7/8, it is quarters that go at such a tempo.
SLOWEST_TRIED, FASTEST_TRIED, TEMPO_STEP = 36.0, 210.0, 1.06
COMMON_TEMPO, TEMPO_SPREAD = 88.0, log(1.5)
# Tempi nearer than this (natural logarithm) read the same notes.
SAME_TEMPO = 0.15
ROUGH_WIDTH, WIDTH = 24, 120
ROUGH_SPREAD_S, ROUGH_WANDER = 0.03, 0.012
SLOWEST_SHARE = 1.5
SPARE_QUARTERS = 8
# A bar in some two hundred begins a rest of whole bars; longer ones are rarer (common practice, no
# source).
MOST_REST_BARS = 32
REST_LOG_CHANCE, REST_LOG_SHARE = log(0.005), log(0.9)


@dataclass(frozen=True, slots=True)
class Found:
    """The best readings, and the timing under which they were found.

    ``tempo_share`` is how sure the tempo is among those that were tried, 1 where it was said.
    """

    readings: tuple[Reading, ...]
    timing: Timing
    beats: tuple[WrittenBeat, ...]
    log_weight: float
    tempo_share: float = 1.0


@dataclass(frozen=True, slots=True)
class _Ask:
    """What is to be read: the tries, the metre of each bar, where the first note falls."""

    tries: tuple[Floats, ...]
    metres: tuple[Metre, ...]
    first: tuple[int, Fraction]

    def metre(self, bar: int) -> Metre:
        """Return the metre of bar ``bar``; the last one said goes on."""
        return self.metres[min(bar, len(self.metres) - 1)]

    def rests(self, bar: int) -> Iterator[Figure]:
        """Yield rests of whole bars from ``bar`` on."""
        beats = 0
        for many in range(1, MOST_REST_BARS + 1):
            beats += len(self.metre(bar + many - 1).beats)
            yield Figure((), REST_LOG_CHANCE + many * REST_LOG_SHARE, beats)


def search(
    tries: Sequence[Floats],
    metres: Sequence[Metre],
    first: tuple[int, Fraction],
    *,
    quarter_s: float | None,
) -> Found | None:
    """Return the likeliest reading of ``tries``; None when none was found.

    ``metres`` is the metre of each bar, the last of which goes on; ``first`` is the index of the beat
    in its bar, and the quarters after that beat, where the first note falls.
    """
    ask = _Ask(tuple(tries), tuple(metres), first)
    looks: list[tuple[float, Timing]] = []
    for each in [quarter_s] if quarter_s else _tempi(metres[0]):
        prior = 0.0 if quarter_s else _tempo_log_chance(each, metres[0])
        sd = GIVEN_TEMPO_SD if quarter_s else TRIED_TEMPO_SD
        looks.append((prior, Timing(each, sd, ROUGH_SPREAD_S, ROUGH_WANDER)))
    looked = _looked(ask, looks)
    share = _tempo_share(looked)
    best = _likeliest(looked)
    for players in (
        [({"spread_s": value}, share) for value, share in SPREADS_S],
        [({"wander": value}, share) for value, share in WANDERS],
    ):
        if best is None:
            return None
        base, timing = best
        best = _likeliest(
            _looked(
                ask, [(base + log(many), replace(timing, **change)) for change, many in players]
            )
        )
    found = None if best is None else _found(ask, best[1], prior=best[0], width=WIDTH)
    return None if found is None else replace(found, tempo_share=share)


def _looked(
    ask: "_Ask", looks: Sequence[tuple[float, Timing]]
) -> list[tuple[float, float, Timing]]:
    """Return (log weight, log chance beforehand, timing) of each look under which anything is read."""
    found = [
        (_found(ask, timing, prior=prior, width=ROUGH_WIDTH), prior) for prior, timing in looks
    ]
    return [(each.log_weight, prior, each.timing) for each, prior in found if each is not None]


def _likeliest(looked: Sequence[tuple[float, float, Timing]]) -> tuple[float, Timing] | None:
    """Return the look (log chance beforehand, timing) under which the onsets are likeliest."""
    if not looked:
        return None
    _, prior, timing = max(looked, key=lambda each: each[0])
    return prior, timing


def _tempo_share(looked: Sequence[tuple[float, float, Timing]]) -> float:
    """Return how likely the best of the tempi is, with those that mean the same, among all.

    All are weighed under the rough guess of the player, which leaves more doubt than the last look.
    """
    if not looked:
        return 1.0
    weights = np.array([weight for weight, _, _ in looked])
    chances = np.exp(weights - weights.max())
    best = looked[int(weights.argmax())][2].quarter_s
    near = np.array([abs(log(timing.quarter_s / best)) < SAME_TEMPO for _, _, timing in looked])
    return float(chances[near].sum() / chances.sum())


def _found(ask: "_Ask", timing: Timing, *, prior: float, width: int) -> Found | None:
    longest = max(float(each[-1] - each[0]) for each in ask.tries)
    quarters = Fraction(longest / timing.quarter_s * SLOWEST_SHARE + SPARE_QUARTERS)
    beats = tuple(_beats(ask, quarters))
    readings = read_onsets(ask.tries, beats, timing, width=width)
    if not readings:
        return None
    weights = np.array([each.log_weight for each in readings])
    weight = float(np.logaddexp.reduce(weights)) + prior
    return Found(readings, timing, beats, weight)


def _beats(ask: "_Ask", quarters: Fraction) -> Iterator[WrittenBeat]:
    """Yield the beats from the first note's on, for at least so many quarters."""
    kinds: dict[Fraction, int] = {}
    bar, index = 0, ask.first[0]
    while quarters > 0:
        beats = ask.metre(bar).beats
        beat = beats[index]
        following = beats[index + 1] if index + 1 < len(beats) else None
        able = figures(beat, following)
        if (bar, index) == (0, ask.first[0]):
            able = tuple(
                each if each.at[:1] == (ask.first[1],) else replace(each, log_chance=-inf)
                for each in able
            )
        elif not index:
            able = (*able, *ask.rests(bar))
        kind = kinds.setdefault(beat.length, len(kinds))
        yield WrittenBeat(beat.length, able, opens_bar=index == 0, kind=kind)
        quarters -= beat.length
        bar, index = (bar, index + 1) if following is not None else (bar + 1, 0)


def _tempi(metre: Metre) -> list[float]:
    """Return the lengths of a quarter to try, for beats of every tempo that is played."""
    value = max(float(metre.tempo_value), 1.0)
    steps = int(log(FASTEST_TRIED / SLOWEST_TRIED) / log(TEMPO_STEP)) + 1
    return [60 / (SLOWEST_TRIED * TEMPO_STEP**step * value) for step in range(steps)]


def _tempo_log_chance(quarter_s: float, metre: Metre) -> float:
    bpm = 60 / (quarter_s * max(float(metre.tempo_value), 1.0))
    return -0.5 * (log(bpm / COMMON_TEMPO) / TEMPO_SPREAD) ** 2
