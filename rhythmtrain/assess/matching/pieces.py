"""A stretch of claps paired with the notes it stands for, and whether it is playing at all.

Talk hits a note now and then.  So a piece is held against claps at random: it is playing where its
likelihood says so plainly, most plainly where it does not begin at the beginning.
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


def is_played(piece: Piece, played_s: Floats, written: Written) -> bool:
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
