"""How syncopated one bar is, as a number for putting bars in order and for nothing else.

The bar is laid on its own equal pulses: sixteenths, or finer where its notes are finer.  Then the
measures of ``rhythmtrain.score.difficulty.syncopation`` that its metre allows are added up and averaged:
Longuet-Higgins & Lee and off-beatness always, WNBD where all beats are equally long, Keith where
the pulses are a power of 2.  The last note lasts until the next bar's first.
"""

from fractions import Fraction
from functools import lru_cache
from math import ceil, lcm

from rhythmtrain.score.difficulty.syncopation import (
    keith_weighted,
    longuet_higgins_lee,
    note_to_beat,
    off_beatness,
    weights,
)
from rhythmtrain.score.metre import Metre

# Rhythms finer than this many pulses a bar are not measured: every table would grow with them.
MOST_PULSES = 1024
SIMPLE_LEVELS, COMPOUND_LEVELS = (2, 4, 8, 16), (3, 6, 12, 24)
BEATS_IN_HALVES = 4


def syncopation(metre: Metre, onsets: tuple[Fraction, ...], then: Fraction | None = None) -> float:
    """Return the mean of the measures for notes at ``onsets`` quarters after beat 1; 0 or more.

    ``then`` is where the next note after the bar begins, in the same quarters.
    """
    pulses = pulses_of(metre, onsets)
    if not onsets or pulses is None:
        return 0.0
    pulse = metre.length / pulses
    struck = tuple(int(at / pulse) for at in onsets)
    following = pulses if then is None else max(pulses, ceil(then / pulse))
    found: list[Fraction | int] = [
        longuet_higgins_lee(struck, _weights(metre, pulses), then=following),
        off_beatness(struck, pulses),
    ]
    if len({beat.length for beat in metre.beats}) == 1:
        beat = int(metre.beats[0].length / pulse)
        found.append(len(struck) * note_to_beat(struck, pulses, beat=beat, then=following))
    if pulses & (pulses - 1) == 0:
        found.append(keith_weighted(struck, pulses, then=following))
    return float(sum(found) / Fraction(len(found)))


def pulses_of(metre: Metre, onsets: tuple[Fraction, ...]) -> int | None:
    """Return into how many equal pulses the bar divides so that every onset lies on one.

    None where that is more than ``MOST_PULSES``.
    """
    spots = [beat.start for beat in metre.beats]
    spots += [beat.length / (6 if beat.compound else 4) for beat in metre.beats]
    pulses = lcm(*((spot / metre.length).denominator for spot in (*spots, *onsets)))
    return pulses if pulses <= MOST_PULSES else None


def levels_of(metre: Metre, pulses: int) -> tuple[tuple[int, ...], ...]:
    """Return the metrical levels of a bar: bar, half bar of four beats or groups, beats, parts."""
    pulse = metre.length / pulses
    beats = metre.beats
    levels: list[tuple[int, ...]] = [(0,)]
    if len(metre.groups) > 1:
        units = [sum(metre.groups[:group]) for group in range(len(metre.groups))]
        levels.append(_on_grid([Fraction(4 * unit, metre.unit) / pulse for unit in units]))
    elif len(beats) == BEATS_IN_HALVES:
        levels.append((0, pulses // 2))
    levels.append(_on_grid([beat.start / pulse for beat in beats]))
    for simple, compound in zip(SIMPLE_LEVELS, COMPOUND_LEVELS, strict=True):
        spots = [
            (beat.start + beat.length * part / division) / pulse
            for beat in beats
            for division in (compound if beat.compound else simple,)
            for part in range(division)
        ]
        levels.append(_on_grid(spots))
    return tuple(levels)


@lru_cache(maxsize=64)
def _weights(metre: Metre, pulses: int) -> tuple[int, ...]:
    return weights(levels_of(metre, pulses), pulses)


def _on_grid(spots: list[Fraction]) -> tuple[int, ...]:
    return tuple(int(spot) for spot in spots if spot.denominator == 1)
