"""Which clap belongs to which note when the tempo is free and only roughly known.

A chain of pairs (note, clap) goes forward in both.  From one pair to the next the interval heard
is held against the interval written at the tempo carried along, a log tempo filtered as it goes
(Kalman 1960, one state): with e the log of heard over expected and S its variance,

    worth of a pair = GAIN - t(e²/S)        t grows slowly for large e, so that a wrong figure
                                            costs less than losing the place
    a note or a clap passed over costs SKIP, at most MOST_SKIPS of each between two pairs

The chain worth most wins, found by dynamic programming over note x clap.  Every pair keeps its two
best tempi (two states), because the best tempo so far need not be the one that goes on well.  A
chain may begin and end anywhere in the take, so talk before and after costs nothing; beginning or
ending inside the passage does.  The tempo at the beginning is known to a factor of two.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.free.match_rows import (
    GAIN,
    NOWHERE,
    REACH,
    SKIP,
    STATES,
    Row,
    extended,
    fresh,
    intervals,
)

Floats = NDArray[np.float64]

MOST_EDGE = 3
# Spread of the log tempo before anything is heard: a factor of two is two of these.
UNKNOWN_TEMPO = 0.35


@dataclass(frozen=True, slots=True)
class Chain:
    """Pairs in order: ``notes`` and ``claps`` are indices, ``worth`` what they are worth."""

    notes: tuple[int, ...]
    claps: tuple[int, ...]
    worth: float


def best_chain(
    written_s: Floats, units: Floats, played_s: Floats, *, unknown_tempo: float = UNKNOWN_TEMPO
) -> Chain:
    """Return the chain of pairs worth most; empty where there are no notes or no claps.

    Args:
        written_s: when each note falls at about the tempo played, shape (n,).
        units: the same places in written units, shape (n,).
        played_s: the claps in order, shape (m,).
        unknown_tempo: spread of the log of the tempo against ``written_s``.
    """
    count = len(written_s)
    if not count or not len(played_s):
        return Chain((), (), 0.0)
    edge = SKIP * np.minimum(np.arange(count), MOST_EDGE)
    heard = intervals(played_s)
    rows: list[Row] = []
    best, where = NOWHERE, (0, 0)
    for note in range(count):
        row = fresh(rows, GAIN - float(edge[note]), len(played_s), unknown_tempo**2)
        if rows:
            back = np.arange(note - 1, max(note - REACH, 0) - 1, -1)
            steps = np.stack((np.log(written_s[note] - written_s[back]), units[note] - units[back]))
            row = extended(row, rows[: -REACH - 1 : -1], heard, steps)
        rows.append(row)
        ended = row.worth[0] - edge[count - 1 - note]
        if ended.max() > best:
            best, where = float(ended.max()), (note, int(np.argmax(ended)) + row.low)
    return _traced(rows, where, best)


def _traced(rows: list[Row], where: tuple[int, int], worth: float) -> Chain:
    """Return the chain that ends at the pair ``where``, walking back."""
    note, clap = where
    state = 0
    notes, claps = [note], [clap]
    while (way := int(rows[note].came[state, clap - rows[note].low])) >= 0:
        way, column = divmod(way, REACH)
        back, state = divmod(way, STATES)
        note -= back + 1
        clap -= REACH - column
        notes.append(note)
        claps.append(clap)
    return Chain(tuple(reversed(notes)), tuple(reversed(claps)), worth)
