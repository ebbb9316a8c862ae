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
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MOST_SKIPS = 4
REACH = MOST_SKIPS + 1
STATES = 2
SKIP = 3.0
GAIN = 6.0
TAIL = 20.0
# A wait costs no more than this, so that a breath is not taken for a missed note.
BREATH = 7.5
# Freedom of tempo (for every √unit) and unsteadiness of a note while matching: less than when a
# figure is judged, because a chain must not explain a slip as freedom.
TEMPO_SPREAD = 0.07
NOTE_NOISE_S, NOTE_NOISE_SHARE = 0.012, 0.04
# Spread of the log tempo before anything is heard: a factor of two is two of these.
UNKNOWN_TEMPO = 0.35
# Two tempi closer than this are one.
SAME_TEMPO = 0.06
MOST_EDGE = 3
MOST_PULL = 2.0
# Further from the written tempo than this (log) nobody is followed.
MOST_TEMPO = 1.5
# A state this much worse than the best is not followed further.
HOPELESS = 120.0
NOWHERE = -1e9
FAR_S = 1e3
SHORTEST_S = 1e-3


@dataclass(frozen=True, slots=True)
class Chain:
    """Pairs in order: ``notes`` and ``claps`` are indices, ``worth`` what they are worth."""

    notes: tuple[int, ...]
    claps: tuple[int, ...]
    worth: float


@dataclass(frozen=True, slots=True)
class _Heard:
    """Intervals heard: item [j, c] is that from clap j - REACH + c to clap j, shape (m, REACH).

    ``noise`` is the variance of its logarithm that two unsteady notes make.
    """

    log_s: Floats
    noise: Floats


@dataclass(frozen=True, slots=True)
class _Row:
    """The states of one note with claps from ``low`` on: three arrays (STATES, claps).

    ``came`` says from which earlier pair: an index into (notes back, state, column), -1 for the
    beginning of a chain.
    """

    low: int
    worth: Floats
    tempo: Floats
    spread: Floats
    came: Ints


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
    heard = _heard(played_s)
    rows: list[_Row] = []
    best, where = NOWHERE, (0, 0)
    for note in range(count):
        row = _fresh(rows, GAIN - float(edge[note]), len(played_s), unknown_tempo**2)
        if rows:
            back = np.arange(note - 1, max(note - REACH, 0) - 1, -1)
            steps = np.stack((np.log(written_s[note] - written_s[back]), units[note] - units[back]))
            row = _extended(row, rows[: -REACH - 1 : -1], heard, steps)
        rows.append(row)
        ended = row.worth[0] - edge[count - 1 - note]
        if ended.max() > best:
            best, where = float(ended.max()), (note, int(np.argmax(ended)) + row.low)
    return _traced(rows, where, best)


def _heard(played_s: Floats) -> _Heard:
    before = np.concatenate((np.full(REACH, played_s[0] - FAR_S), played_s))
    gaps = played_s[:, None] - sliding_window_view(before, REACH)[: len(played_s)]
    gaps = np.maximum(gaps, SHORTEST_S)
    noise = 2 * (np.hypot(NOTE_NOISE_S, NOTE_NOISE_SHARE * gaps) / gaps) ** 2
    return _Heard(np.log(gaps), noise)


def _fresh(rows: list[_Row], worth: float, claps: int, spread: float) -> _Row:
    """Return the states with which a chain begins, over the claps still worth looking at."""
    low, stop = 0, claps
    if rows:
        near = rows[-REACH:]
        most = max(float(row.worth.max()) for row in near)
        alive = [np.flatnonzero(row.worth[0] > most - HOPELESS) + row.low for row in near]
        low = min(int(each[0]) for each in alive if len(each))
        stop = min(claps, max(int(each[-1]) for each in alive if len(each)) + REACH + 1)
    shape = (STATES, stop - low)
    worths = np.full(shape, NOWHERE)
    worths[0] = worth
    return _Row(low, worths, np.zeros(shape), np.full(shape, spread), np.full(shape, -1))


def _extended(row: _Row, earlier: list[_Row], heard: _Heard, steps: Floats) -> _Row:
    """Return ``row`` with the best two states that come from ``earlier`` ones (nearest first).

    ``steps`` (2, notes back) are the log seconds and the units from each earlier note.
    """
    size = row.worth.shape[1]
    here = slice(row.low, row.low + size)
    seen = [_windows(other, row.low, size) for other in earlier]
    worth, tempo, spread = (np.stack(part) for part in zip(*seen, strict=True))
    log_s, noise = heard.log_s[here], heard.noise[here]
    spread = spread + TEMPO_SPREAD**2 * steps[1][:, None, None, None]
    off = log_s - steps[0][:, None, None, None] - tempo
    total = spread + noise
    notes_back = np.arange(len(earlier))[:, None, None, None]
    claps_back = np.arange(REACH - 1, -1, -1)
    cost = TAIL * np.log1p(off**2 / (2 * TAIL * total))
    worth = worth + GAIN - np.where(off > 0, np.minimum(cost, BREATH), cost)
    worth -= SKIP * (notes_back + claps_back)
    pull = spread / total
    limit = MOST_PULL * np.sqrt(total)
    tempo = tempo + pull * np.clip(off, -limit, limit)
    worth = np.where(np.abs(tempo) > MOST_TEMPO, NOWHERE, worth)
    flat = [_flat(part) for part in (worth, tempo, (1 - pull) * spread)]
    return _chosen(row, *flat)


def _windows(row: _Row, low: int, size: int) -> tuple[Floats, Floats, Floats]:
    """Return a row's states beside claps ``low`` on: three arrays (STATES, size, REACH)."""
    first = low - REACH
    out = []
    for part, empty in ((row.worth, NOWHERE), (row.tempo, 0.0), (row.spread, 1.0)):
        wide = np.full((STATES, size + REACH), empty)
        begin, stop = max(first, row.low), min(low + size, row.low + part.shape[1])
        if stop > begin:
            wide[:, begin - first : stop - first] = part[:, begin - row.low : stop - row.low]
        out.append(sliding_window_view(wide, REACH, axis=1)[:, :size])
    return out[0], out[1], out[2]


def _flat(part: Floats) -> Floats:
    """Return (notes back, STATES, claps, REACH) as (all ways to come, claps)."""
    ways = np.moveaxis(part, 2, -1)
    return ways.reshape(-1, part.shape[2])


def _chosen(row: _Row, worth: Floats, tempo: Floats, spread: Floats) -> _Row:
    """Return the best way to come to each clap, and the best one at another tempo."""
    column = np.arange(worth.shape[1])
    first = np.argmax(worth, axis=0)
    other = np.where(np.abs(tempo - tempo[first, column]) < SAME_TEMPO, NOWHERE, worth)
    second = np.argmax(other, axis=0)
    came = np.stack((first, second))
    worths = np.stack((worth[first, column], other[second, column]))
    tempi, spreads = tempo[came, column], spread[came, column]
    begins = worths[0] < row.worth[0]
    came[:, begins] = -1
    worths[0, begins], worths[1, begins] = row.worth[0, begins], NOWHERE
    tempi[:, begins] = 0.0
    spreads[:, begins] = row.spread[:, begins]
    return _Row(row.low, worths, tempi, spreads, came)


def _traced(rows: list[_Row], where: tuple[int, int], worth: float) -> Chain:
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
