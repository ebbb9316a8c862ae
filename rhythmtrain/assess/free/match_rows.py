"""The states of one note in the search for the best chain, and how a note's come from those before it.

A state is a pair (note, clap) with the log tempo carried to it and how sure that is.  For each note the
states stand in a row over the claps; a row is made from the rows of the few notes before, all ways at
once, and keeps the two best tempi of every pair (see ``match``).
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
# Two tempi closer than this are one.
SAME_TEMPO = 0.06
MOST_PULL = 2.0
# Further from the written tempo than this (log) nobody is followed.
MOST_TEMPO = 1.5
# A state this much worse than the best is not followed further.
HOPELESS = 120.0
NOWHERE = -1e9
FAR_S = 1e3
SHORTEST_S = 1e-3


@dataclass(frozen=True, slots=True)
class Intervals:
    """Intervals heard: item [j, c] is that from clap j - REACH + c to clap j, shape (m, REACH).

    ``noise`` is the variance of its logarithm that two unsteady notes make.
    """

    log_s: Floats
    noise: Floats


@dataclass(frozen=True, slots=True)
class Row:
    """The states of one note with claps from ``low`` on: three arrays (STATES, claps).

    ``came`` says from which earlier pair: an index into (notes back, state, column), -1 for the
    beginning of a chain.
    """

    low: int
    worth: Floats
    tempo: Floats
    spread: Floats
    came: Ints


def intervals(played_s: Floats) -> Intervals:
    """Return the intervals between the claps, from each back to the few before it."""
    before = np.concatenate((np.full(REACH, played_s[0] - FAR_S), played_s))
    gaps = played_s[:, None] - sliding_window_view(before, REACH)[: len(played_s)]
    gaps = np.maximum(gaps, SHORTEST_S)
    noise = 2 * (np.hypot(NOTE_NOISE_S, NOTE_NOISE_SHARE * gaps) / gaps) ** 2
    return Intervals(np.log(gaps), noise)


def fresh(rows: list[Row], worth: float, claps: int, spread: float) -> Row:
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
    return Row(low, worths, np.zeros(shape), np.full(shape, spread), np.full(shape, -1))


def extended(row: Row, earlier: list[Row], heard: Intervals, steps: Floats) -> Row:
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


def _windows(row: Row, low: int, size: int) -> tuple[Floats, Floats, Floats]:
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


def _chosen(row: Row, worth: Floats, tempo: Floats, spread: Floats) -> Row:
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
    return Row(row.low, worths, tempi, spreads, came)
