"""In which order a recording plays the written bars: repeats and cuts found, not stretched over.

The chroma of the recording and of the written notes are aligned as in ``alignment``, but from
the end of any bar the path may jump to the beginning of any other, begin with any and end with any,
at a set price for each.  Every frame of the recording costs once, so a path that jumps can be
compared with one that plays straight through: a bar played twice, laid on one written bar, fits
badly or has to be stretched.  Since the written tempo is not known when bars are left out, several
are tried.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.notate.notes.chord_places import Sounding
from rhythmtrain.notate.notes.coarse_chroma import (
    OUTSIDE,
    PENALTY,
    heard_chroma,
    sounding_frames,
    written_chroma,
)
from rhythmtrain.notate.notes.paths import NEVER, framed_path
from rhythmtrain.notate.notes.written_chroma import WrittenNotes

Floats = NDArray[np.float64]
Frames = NDArray[np.float32]
Indices = NDArray[np.int64]

# Of 48 development performances in six orders each, every order was found to the bar with this price,
# and no path jumped where the bars were played straight through.
JUMP = 4.0
STRAIGHT_MARGIN = 1.0
# For each frame that is not nearly silent, jumps not counted: at most .39 for the right notes in any
# order, .42 and more for nearly all notes of other pieces.
WORST_PRICE = 0.40
JUMPED, BEGUN = 3, 4
# Tried shares of the tempo at which the notes would fill the recording.
SCALES = tuple(1.12**step for step in range(-6, 7))
FEWEST_BARS_A_RUN = 2


def order_played(
    sounding: Sounding, notes: WrittenNotes, bars: Floats
) -> tuple[tuple[int, int], ...] | None:
    """Return the runs (first, last) of bars that the recording plays, None where it is all, once.

    ``bars`` are the quarters at which bars begin.  Where nothing fits the answer is None as well:
    whether the notes are another piece's is told by ``align_notes``.
    """
    heard = heard_chroma(sounding)
    usual = sounding_frames(sounding)
    tried = [_at_scale(sounding, notes, bars, (heard, max(round(usual * s), 32))) for s in SCALES]
    best = min(tried, key=lambda each: each.price)
    if best.runs == ((0, bars.size - 1),) or len(best.runs) * FEWEST_BARS_A_RUN > bars.size:
        return None
    straight = min(each.straight for each in tried)
    fits = best.price - best.jumped < WORST_PRICE * usual
    return best.runs if fits and best.price < straight - STRAIGHT_MARGIN else None


@dataclass(frozen=True, slots=True)
class _Tried:
    """What came of one tempo: the price with jumps, the runs, the price straight through."""

    price: float
    runs: tuple[tuple[int, int], ...]
    straight: float
    bars: int

    @property
    def jumped(self) -> float:
        """Return what of the price was paid for jumps."""
        ends = (self.runs[0][0] != 0) + (self.runs[-1][1] != self.bars - 1)
        return JUMP * (len(self.runs) - 1 + ends)


def _at_scale(
    sounding: Sounding, notes: WrittenNotes, bars: Floats, laid: tuple[Frames, int]
) -> _Tried:
    heard, count = laid
    written = written_chroma(sounding, notes, count)
    first, last = notes.ends
    starts = np.clip(np.rint((bars - first) / (last - first) * count), 0, count - 1).astype(int)
    starts[0] = 0
    cost = 1 - heard @ written.T
    found = jumping_path(cost, np.unique(starts), Prices(OUTSIDE, PENALTY))
    pairs = framed_path(cost, outside=OUTSIDE, penalty=PENALTY)
    runs = runs_of(found.pairs, starts)
    return _Tried(found.price, runs, _price(cost, pairs), bars.size)


def _price(cost: Frames, pairs: Indices) -> float:
    """Return what a path that does not jump costs in all."""
    bent = int((np.diff(pairs[:, 1]) != 1).sum())
    outside = OUTSIDE * (len(cost) - len(pairs))
    return float(cost[pairs[:, 0], pairs[:, 1]].sum()) + outside + PENALTY * bent


@dataclass(frozen=True, slots=True)
class Prices:
    """What is paid: for a frame outside the music, for a step that is not diagonal, for a jump."""

    outside: float
    penalty: float
    jump: float = JUMP


@dataclass(frozen=True, slots=True, eq=False)
class Jumping:
    """The cheapest path with jumps: its price, and its pairs (recorded, written), shape (n, 2)."""

    price: float
    pairs: Indices


def jumping_path(cost: Frames, starts: Indices, prices: Prices) -> Jumping:
    """Return the cheapest path through ``cost``, shape (recorded, written), that may jump.

    ``starts`` are the written frames at which bars begin, 0 first, rising; a bar ends with the frame
    before the next one starts.
    """
    recorded, written = cost.shape
    ends = np.append(starts[1:], written) - 1
    beginning = np.full(starts.size, prices.jump)
    beginning[0] = 0.0
    ending = np.full(ends.size, prices.jump)
    ending[-1] = 0.0
    total = np.full(written, NEVER)
    came = np.zeros((recorded, written), np.int8)
    leapt_from = np.zeros(recorded, np.int64)
    finish, best = (0, 0), np.inf
    for frame in range(recorded):
        moved = np.concatenate(([NEVER], total[:-1]))
        two = np.concatenate(([NEVER, NEVER], total[:-2]))[:written]
        choices = np.full((5, written), NEVER)
        choices[:3] = total + prices.penalty, moved, two + prices.penalty
        leapt_from[frame] = ends[int(total[ends].argmin())]
        choices[JUMPED, starts] = total[leapt_from[frame]] + prices.jump
        choices[BEGUN, starts] = prices.outside * frame + beginning
        came[frame] = choices.argmin(axis=0)
        total = choices.min(axis=0) + cost[frame]
        after = total[ends] + ending + prices.outside * (recorded - 1 - frame)
        if after.min() < best:
            best, finish = float(after.min()), (frame, int(ends[int(after.argmin())]))
    return Jumping(best, _walked_back(came, leapt_from, finish))


def _walked_back(came: NDArray[np.int8], leapt_from: Indices, finish: tuple[int, int]) -> Indices:
    frame, place = finish
    pairs = []
    while True:
        pairs.append((frame, place))
        how = int(came[frame, place])
        if how == BEGUN:
            break
        place = int(leapt_from[frame]) if how == JUMPED else place - how
        frame -= 1
    return np.array(pairs[::-1], dtype=np.int64)


def runs_of(pairs: Indices, starts: Indices) -> tuple[tuple[int, int], ...]:
    """Return the runs (first, last) of bars that a path passes, by their place."""
    return tuple(_runs(np.searchsorted(starts, pairs[:, 1], side="right") - 1, pairs))


def _runs(bars: Indices, pairs: Indices) -> Iterator[tuple[int, int]]:
    first = int(bars[0])
    for (early, before), (late, after) in pairwise(
        zip(bars.tolist(), pairs[:, 1].tolist(), strict=True)
    ):
        if not 0 <= after - before <= 2:  # noqa: PLR2004  (steps of a path that does not jump)
            yield first, early
            first = late
    yield first, int(bars[-1])
