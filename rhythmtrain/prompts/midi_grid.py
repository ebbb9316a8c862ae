"""What a MIDI file needs beside the prompts: tempi, metres and markers, in track seconds.

MIDI knows only steady tempi, so a gradual one becomes a row of steady ones that meet the true
curve at both ends.  With time t(q) over written quarters, speed v and slope k, |t''| = k / v²; a
straight piece h long strays at most h²·k / (8·v²) from the curve, which fixes how many pieces a
change of tempo needs to stay within half a millisecond.
"""

import math
from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.prompts.landmarks import landmarks_of
from rhythmtrain.score.metre import Metre
from rhythmtrain.timing.tempomap import STEADY, Stretch
from rhythmtrain.timing.timeline import Role, Timeline

STRAYS_AT_MOST_S = 0.0005
SHORTEST_LOWER = 64


def tempi(timeline: Timeline) -> tuple[tuple[float, float], ...]:
    """Return (track second, quarters a minute) wherever the tempo changes."""
    found: list[tuple[float, float]] = []
    for stretch in timeline.tempo.stretches:
        knots = [
            stretch.start + (stretch.stop - stretch.start) * Fraction(part, pieces)
            for pieces in (pieces_for(stretch),)
            for part in range(pieces + 1)
        ]
        for begun, ended in pairwise(knots):
            start, stop = timeline.track_seconds(begun), timeline.track_seconds(ended)
            found.append((float(start), float(ended - begun) * 60 / (stop - start)))
    return tuple(found)


def pieces_for(stretch: Stretch) -> int:
    """Return how many steady tempi stand for ``stretch``: one if it is steady."""
    change = abs(stretch.last_speed - stretch.speed)
    if change <= STEADY:
        return 1
    slowest = min(stretch.speed, stretch.last_speed)
    strays = float(stretch.stop - stretch.start) * change / (8 * slowest**2)
    return max(1, math.ceil(math.sqrt(strays / STRAYS_AT_MOST_S)))


def metres(timeline: Timeline) -> tuple[tuple[float, int, int], ...]:
    """Return (track second, upper, lower) wherever the metre changes.

    Bars that make up one whole bar (a count-in and the upbeat it leads to) keep their metre; a
    bar cut short otherwise gets one of its own length, so that bar lines in MIDI stay true.
    """
    found: list[tuple[float, int, int]] = []
    for start, length, metre in _whole_bars(timeline):
        upper, lower = _written(length, metre)
        if not found or found[-1][1:] != (upper, lower):
            found.append((float(timeline.track_seconds(start)), upper, lower))
    return tuple(found)


def markers(timeline: Timeline) -> tuple[tuple[float, str], ...]:
    """Return (track second, words) at every bar and landmark: "count-in", "bar 5", "letter B"."""
    found: list[tuple[float, str]] = []
    role: Role | None = None
    for played in timeline.bars:
        time = float(timeline.track_seconds(played.start))
        if played.index is not None:
            found.append((time, f"bar {played.bar.number}"))
            found += [(time, words) for words in landmarks_of(played.bar)]
        elif played.role is not role:
            found.append((time, "count-in"))
        role = played.role
    return tuple(found)


def _whole_bars(timeline: Timeline) -> Iterator[tuple[Fraction, Fraction, Metre]]:
    start, length = timeline.start, Fraction(0)
    bars = timeline.bars
    for place, played in enumerate(bars):
        length += played.bar.length
        if place + 1 < len(bars) and _goes_on(played.bar.ends, bars[place + 1].bar.begins):
            continue
        yield start, length, played.bar.metre
        start, length = played.stop, Fraction(0)


def _goes_on(ends: Fraction, begins: Fraction) -> bool:
    return bool(begins) and ends == begins


def _written(length: Fraction, metre: Metre) -> tuple[int, int]:
    """Return the metre of a bar ``length`` long: ``metre``'s own where that fits or none does."""
    own = (sum(metre.groups), metre.unit)
    if length == metre.length:
        return own
    lower = metre.unit
    while lower <= SHORTEST_LOWER:
        upper = length * lower / 4
        if upper.denominator == 1:
            return int(upper), lower
        lower *= 2
    return own
