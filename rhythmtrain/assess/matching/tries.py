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
from rhythmtrain.assess.matching.matching import pairs, windows_s
from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

EVIDENCE_AT_START = 4.5
EVIDENCE_ELSEWHERE = 8.0
FEWEST_PAIRS = 3
MANY_PAIRS = 12
MANY_SHARE = 0.75
STRAY = 0.1
STRAY_DENSITY = 1.7  # a second, for a clap that stands for a note by chance
MISSED_LOSS = 1.5
EXTRA_LOSS = 1.0
CLOSE_S = 0.45
CLOSE_LOSS = 1.5
FIRST_NOTES = 2
COUNT_IN_SHARE = 0.15
MOST_COUNT_IN = 9
RUN_IN_S = 1.5
OPENING_NOTES = 8


@dataclass(frozen=True, slots=True)
class Piece:
    """One stretch, paired: which notes it reaches from and to, and which claps it holds.

    ``origin_s`` is the second of the take at which bar 1 would begin, ``opening_s`` the same by
    its first notes alone; ``notes`` and ``claps`` are the pairs; ``centre_s`` gives for every written note the origin beside it.
    """

    first_clap: int
    last_clap: int
    notes: Ints
    claps: Ints
    origin_s: float
    opening_s: float
    centre_s: Floats

    @property
    def first_note(self) -> int:
        """Return the first note that was played in it."""
        return int(self.notes[0])

    @property
    def last_note(self) -> int:
        """Return the last note that was played in it."""
        return int(self.notes[-1])


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
    able = [piece for piece in pieces if _able(piece, played_s, written)]
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


def piece_of(stretch: Stretch, played_s: Floats, written: Written) -> Piece:
    """Return the stretch with its claps paired, re-centred twice on what was paired."""
    claps = played_s[stretch.first : stretch.last + 1]
    times = written.times_s
    at = claps - stretch.origins_s
    keep = np.concatenate(([True], np.diff(at) > 0))
    centre = np.interp(times, at[keep], stretch.origins_s[keep])
    widths = windows_s(times)
    notes, hits = pairs(times + centre, claps, widths)
    for _ in range(2):
        if not len(notes):
            break
        centre = centre + np.median(claps[hits] - times[notes] - centre[notes])
        notes, hits = pairs(times + centre, claps, widths)
    late = claps[hits] - times[notes] if len(notes) else centre[:1]
    origin, opening = float(np.median(late)), float(np.median(late[:OPENING_NOTES]))
    return Piece(stretch.first, stretch.last, notes, hits + stretch.first, origin, opening, centre)


def _able(piece: Piece, played_s: Floats, written: Written) -> bool:
    """Return True when the piece is more than chance hits among talk."""
    if len(piece.notes) < FEWEST_PAIRS:
        return False
    reached = piece.last_note - piece.first_note + 1
    claps = int(piece.claps[-1] - piece.claps[0]) + 1
    told = evidence(piece, played_s, written)
    if len(piece.notes) >= MANY_PAIRS and 2 * len(piece.notes) >= MANY_SHARE * (reached + claps):
        return told >= 0
    opening = piece.first_note <= FIRST_NOTES
    least = EVIDENCE_AT_START if opening else EVIDENCE_ELSEWHERE
    return told >= least


def evidence(piece: Piece, played_s: Floats, written: Written) -> float:
    """Return the log likelihood ratio of playing against claps at random, for a piece with pairs.

    Each pair weighs how near an honest player comes against how often claps come anyway; notes
    missed, claps too many, and other claps close before and after speak against playing.  Home
    takes simulated from honest tapping and talk: chance pieces 5 (95 %), false starts of five
    notes and more above 5, see tests/assess/test_known_tries.py.
    """
    claps = played_s[piece.claps]
    late = claps - written.times_s[piece.notes] - piece.centre_s[piece.notes]
    late = late - np.median(late)
    spread = float(spread_s(written.beat))
    first, last = int(piece.claps[0]), int(piece.claps[-1])
    rate = max(last - first, 1) / max(float(claps[-1] - claps[0]), spread)
    near = np.exp(-0.5 * (late / spread) ** 2) / (spread * np.sqrt(2 * np.pi))
    told = float(np.sum(np.log(((1 - STRAY) * near + STRAY * STRAY_DENSITY) / rate)))
    missed = piece.last_note - piece.first_note + 1 - len(piece.notes)
    extra = last - first + 1 - len(piece.claps)
    beside = [
        played_s[after] - played_s[after - 1] < CLOSE_S
        for after in (first, last + 1)
        if 0 < after < len(played_s)
    ]
    return float(told - MISSED_LOSS * missed - EXTRA_LOSS * extra - CLOSE_LOSS * sum(beside))


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
