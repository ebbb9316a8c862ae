"""Tries: what the jumps in a take mean.

A take is followed as stretches (see ``following``).  A stretch that begins again in the bar where
the try began is a new try; one that begins again at a later bar is a step back within the try,
and what was played last counts, if it gets further than before; one that goes on further along is
the same try after a pause, or after an entry that came at another time than written.  Claps on the
beats that lead into a stretch are a count-in.  A stretch of a few chance hits among talk is no try
at all.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.matching.following import Stretch
from rhythmtrain.assess.matching.pieces import Piece, is_played, piece_of
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

COUNT_IN_SHARE = 0.15
MOST_COUNT_IN = 9
RUN_IN_S = 1.5
NEAR_START_BEATS = 0.35


@dataclass(frozen=True, slots=True)
class Attempt:
    """One try: the pieces it is made of, in order of time."""

    pieces: tuple[Piece, ...]

    @property
    def first_note(self) -> int:
        """Return the first note that was played in it."""
        return min(piece.first_note for piece in self.pieces)

    @property
    def last_note(self) -> int:
        """Return the last note that was played in it."""
        return max(piece.last_note for piece in self.pieces)

    @property
    def matched(self) -> int:
        """Return how many notes were played in it, each counted once."""
        return len(set(np.concatenate([piece.notes for piece in self.pieces]).tolist()))


def attempts(
    stretches: tuple[Stretch, ...], played_s: Floats, written: Written
) -> tuple[Attempt, ...]:
    """Return the tries that the stretches amount to, in order of time; perhaps none."""
    pieces = [piece_of(stretch, played_s, written) for stretch in stretches]
    able = [piece for piece in pieces if is_played(piece, played_s, written)]
    able = (
        able
        or sorted(
            (piece for piece in pieces if len(piece.notes)), key=lambda piece: -len(piece.notes)
        )[:1]
    )
    grouped: list[list[Piece]] = []
    for piece in able:
        if grouped and _counts_in(grouped[-1][-1], piece, played_s, written):
            grouped[-1].pop()
            if not grouped[-1]:
                grouped.pop()
        if grouped and not _begins_anew(grouped[-1], piece, written):
            grouped[-1].append(piece)
        else:
            grouped.append([piece])
    return tuple(Attempt(tuple(run)) for group in grouped for run in _runs(group))


def _runs(group: list[Piece]) -> list[list[Piece]]:
    """Return the group, without pieces at its end that went over a spot and got no further."""
    spots: list[list[Piece]] = []
    while len(group) > 1 and group[-1].last_note <= max(each.last_note for each in group[:-1]):
        spots.insert(0, [group[-1]])
        group = group[:-1]
    return [group, *spots]


def fullest(tries: tuple[Attempt, ...]) -> int:
    """Return the index of the try to report: the one with most notes, the last of equals."""
    return max(range(len(tries)), key=lambda number: (tries[number].matched, number))


def end_clap(tries: tuple[Attempt, ...], shown: int, claps: int) -> int:
    """Return the first clap after the try shown that belongs to another, ``claps`` if none does."""
    return tries[shown + 1].pieces[0].first_clap if shown + 1 < len(tries) else claps


def begun_anew(
    tries: tuple[Attempt, ...], shown: int, written: Written, start_s: float | None
) -> bool:
    """Return whether the try shown came after one that began where bar 1 was given to begin.

    That start is the earlier try's; when the player began again nobody said.
    """
    return start_s is not None and any(
        abs(_beats_from(start_s, each.pieces[0], written)) < NEAR_START_BEATS
        for each in tries[:shown]
    )


def _beats_from(start_s: float, piece: Piece, written: Written) -> float:
    return written.beats_late(piece.first_note, piece.opening_s - start_s)


def _counts_in(before: Piece, after: Piece, played_s: Floats, written: Written) -> bool:
    """Return True when ``before`` is nothing but the beats that lead into ``after``."""
    claps = played_s[before.first_clap : before.last_clap + 1]
    if len(claps) > MOST_COUNT_IN:
        return False
    beat = float(written.beat_s[after.first_note])
    start = after.origin_s + float(written.times_s[after.first_note])
    ahead = (start - claps) / beat
    off = np.abs(ahead - np.rint(ahead))
    steady = np.all(np.abs(np.diff(claps) / beat - 1) < COUNT_IN_SHARE)
    return bool(steady and np.all(off < 2 * COUNT_IN_SHARE) and ahead[-1] < RUN_IN_S)


def _begins_anew(group: list[Piece], piece: Piece, written: Written) -> bool:
    """Return True when ``piece`` starts a new try rather than going on with the one before."""
    earlier = Attempt(tuple(group))
    starts, goes_on = earlier.first_note, piece.first_note
    same_bar = written.place[goes_on] <= written.place[starts]
    return bool(same_bar) and goes_on <= group[-1].last_note
