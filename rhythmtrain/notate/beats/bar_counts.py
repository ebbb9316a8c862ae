"""How many bars the music holds between two marks, as the recording itself tells.

A person numbers the last mark by the score; the accompanist may have played a repeat that is not
printed, or left bars out.  The beats would then be squeezed or stretched to the number that was
said.  But a wrong number makes the beats drift across what is heard, and the lattice of
``lattice`` says how likely the recording is with any number: for each long stretch without
marks it is asked with bars more and fewer, all marks kept.  How far the tempo would have to go from
that of the marks before counts against a number,

    log p(bars) = log evidence - (log(pace / pace before) / 0.15)² / 2,

and a number that takes it farther away than the number said is no answer: where halves or doubles of
beats sound like beats, it would be.  Where another number is much likelier, that is told, never
taken for granted: the person knows.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats.beliefs import FULLEST
from rhythmtrain.notate.beats.lattice import Lattice, intervals_of, log_evidence
from rhythmtrain.notate.beats.marked_lattice import FRAMES_A_SECOND, Curves, with_marks
from rhythmtrain.notate.beats.marks import Mark
from rhythmtrain.notate.beats.phases import phase_worth

FEWEST_BARS = 6
MARKED_BEFORE = 12
# So far from the number said: every bar, and beyond that such as repeats and cuts have.
TRIED = (*range(1, 9), 10, 12, 14, 16, 20, 24, 28, 32)
MOST_SHARE = 0.75
PACE_SD, MOST_FARTHER = 0.15, 0.2
AROUND_S, HOP = 2.0, 3
LEAST_MORE = 2


@dataclass(frozen=True, slots=True)
class _Side:
    """How it is asked whether there are more bars, or fewer.

    The recording is ``believed`` so far, the tempo may move by any of ``step_sds``, and the answer
    must be likelier by ``margin`` (logarithm) or ``margin_a_bar`` for every bar that was said.
    """

    sign: int
    believed: float
    step_sds: tuple[float, ...]
    margin: float
    margin_a_bar: float = 0.0


# Fewer beats leave fewer to disappoint: where music misleads they look likelier than they are, the
# more the longer the stretch and the more the recording is believed.  More beats have to be heard, and
# so are asked for with full belief, from players of even and of free tempo.  Chosen on performances of
# 24 bars (development seeds 1100 to 1139): of 80 played straight none is asked about; of four bars
# that an expressive player repeats 28 of 40 are (17 with half the belief and one spread of tempo), of
# eight 34 (22).  On 16 held-out ones (seeds 9500 to 9515) it is 6 (3) and 10 (7): pianos differ.
MORE = _Side(1, FULLEST, (0.08, 0.14), 6.0)
FEWER = _Side(-1, 0.25, (0.08,), 13.0, 0.4)


@dataclass(frozen=True, slots=True)
class Miscount:
    """Between beats ``first`` and ``last`` as numbered, music for ``heard`` bars, not ``said``."""

    first: int
    last: int
    said: int
    heard: int


def miscounts(curves: Curves, marks: Sequence[Mark], beats_a_bar: int) -> tuple[Miscount, ...]:
    """Return the stretches between ``marks`` that seem to hold another number of bars."""
    found = []
    ordered = sorted(marks, key=lambda mark: mark.beat)
    for place, (early, late) in enumerate(pairwise(ordered), start=1):
        said = round((late.beat - early.beat) / beats_a_bar)
        before = ordered[max(0, place - MARKED_BEFORE) : place]
        if said < FEWEST_BARS or before[-1].beat == before[0].beat:
            continue
        answers = [_likelier(curves, before, late, (beats_a_bar, side)) for side in (MORE, FEWER)]
        more = max(answers)[1]
        if more:
            found.append(Miscount(early.beat, late.beat, said, said + more))
    return tuple(found)


def _likelier(
    curves: Curves, before: Sequence[Mark], late: Mark, asked: tuple[int, _Side]
) -> tuple[float, int]:
    """Return by how much (logarithm, beyond the margin) how many bars more are likelier, or 0, 0.

    ``asked`` are the beats of a bar and the side; negative bars are fewer.
    """
    beats_a_bar, side = asked
    chances = chances_by_bars(curves, before, late, asked)
    if 0 not in chances:
        return 0.0, 0
    best = max(chances, key=lambda more: chances[more])
    said = (late.beat - before[-1].beat) / beats_a_bar
    beyond = chances[best] - chances[0] - max(side.margin, side.margin_a_bar * said)
    return (beyond, best) if abs(best) >= LEAST_MORE and beyond > 0 else (0.0, 0)


def chances_by_bars(
    curves: Curves, before: Sequence[Mark], late: Mark, asked: tuple[int, _Side]
) -> dict[int, float]:
    """Return how likely (logarithm) it is that so many bars more lie before ``late``.

    ``before`` are two marks or more, sorted; the bars are those after the last of them.  ``asked``
    are the beats of a bar and the side: only none and those on it are given.
    """
    beats_a_bar, side = asked
    start_s = max(before[0].time_s - AROUND_S, 0.0)
    part = _cut(curves, start_s, late.time_s + AROUND_S)
    marks = [
        replace(mark, beat=mark.beat - before[0].beat, time_s=mark.time_s - start_s)
        for mark in (*before, late)
    ]
    first, open_, last = marks[0], marks[-2], marks[-1]
    pace_s = (open_.time_s - first.time_s) / open_.beat
    bare = _bare(part, (last.time_s - first.time_s) / last.beat, side.believed)
    found: dict[int, float] = {}
    farthest = math.inf
    for more in _tried((last.beat - open_.beat) // beats_a_bar, side.sign):
        beat = last.beat + more * beats_a_bar
        span_s = (last.time_s - open_.time_s) / (beat - open_.beat)
        away = abs(math.log(span_s / pace_s))
        farthest = away + MOST_FARTHER if more == 0 else farthest
        if away > farthest:
            continue
        moved = [*marks[:-1], replace(last, beat=beat)]
        try:
            lattice = with_marks(bare, moved, beat + 1, (HOP, part.duration_s))
            evidence = _any_of(lattice, side.step_sds)
        except RequestError:
            continue
        found[more] = evidence - 0.5 * (away / PACE_SD) ** 2
    return found


def _any_of(lattice: Lattice, step_sds: Sequence[float]) -> float:
    """Return the logarithm of the evidence where the tempo moves by one of ``step_sds``."""
    logs = [log_evidence(replace(lattice, step_sd=sd)) for sd in step_sds]
    return float(np.logaddexp.reduce(logs)) - math.log(len(logs))


def _tried(bars: int, sign: int) -> list[int]:
    """Return how many bars more (or fewer, by ``sign``) to try for where ``bars`` were said."""
    return [0, *(sign * more for more in TRIED if more <= MOST_SHARE * bars)]


def _bare(curves: Curves, mean_s: float, believed: float) -> Lattice:
    """Return the lattice of all that is heard in ``curves``, without marks."""
    frames = mean_s * FRAMES_A_SECOND / HOP
    intervals = intervals_of(frames)
    worth, alone = phase_worth(curves.phases, intervals, HOP, believed=believed, readings=1)
    return Lattice(worth, alone, (), (), frames, 1.0)


def _cut(curves: Curves, start_s: float, stop_s: float) -> Curves:
    frames = slice(round(start_s * FRAMES_A_SECOND), round(stop_s * FRAMES_A_SECOND) + 1)
    return Curves(curves.onsets[frames], np.ascontiguousarray(curves.phases[:, frames]))
