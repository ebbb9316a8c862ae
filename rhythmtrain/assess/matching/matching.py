"""Which clap belongs to which note, when it is known when the notes should fall.

Pairs keep their order in time, each note and each clap is used once, and a pair whose distance
is d earns 1 - |d|/w, where w is half the shorter interval beside the note, never under 60 nor
over 150 ms.  The pairs with the greatest sum win.  A wider window pairs wrongly: at 300 ms the
clap that was extra takes the place of the one that was meant.

Because of the limit on w most claps can belong to one note only; those are settled at once with
arrays.  Where windows overlap, rows of notes that touch each other are solved by dynamic
programming within the band of claps that each note can reach, so the work grows with the number
of events and not with its square.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

NARROWEST_WINDOW_S = 0.060
WIDEST_WINDOW_S = 0.150
ALONE = np.inf


def windows_s(expected_s: Floats) -> Floats:
    """Return for each expected time the half-width in which a clap may belong to it."""
    gaps = np.diff(expected_s)
    before = np.concatenate(([ALONE], gaps))
    after = np.concatenate((gaps, [ALONE]))
    half = np.minimum(before, after)[: len(expected_s)] / 2
    return np.clip(half, NARROWEST_WINDOW_S, WIDEST_WINDOW_S)


def pairs(expected_s: Floats, played_s: Floats, window_s: Floats) -> tuple[Ints, Ints]:
    """Return (notes, claps): the indices that belong together, both rising.

    ``expected_s`` (n,) and ``played_s`` (m,) are seconds on one clock, in order; ``window_s``
    (n,) is the half-width for each note.  No other pairs in order earn a greater sum.
    """
    low = np.searchsorted(played_s, expected_s - window_s, side="right")
    high = np.searchsorted(played_s, expected_s + window_s, side="left")
    low = np.minimum.accumulate(low[::-1])[::-1]
    high = np.maximum(np.maximum.accumulate(high), low)
    reached = np.flatnonzero(high > low)
    if not len(reached):
        return np.empty(0, np.intp), np.empty(0, np.intp)
    low, high = low[reached], high[reached]
    joined = low[1:] < high[:-1]
    starts = np.concatenate(([True], ~joined))
    alone = starts & np.concatenate((~joined, [True]))
    found = np.full(len(expected_s), -1, dtype=np.intp)
    single = reached[alone]
    found[single] = _nearest(expected_s[single], played_s, low[alone], high[alone])
    for row in _rows(starts, alone):
        notes = reached[row]
        found[notes] = _solved(
            expected_s[notes], played_s, window_s[notes], low[row].tolist(), high[row].tolist()
        )
    ok = np.flatnonzero(found >= 0)
    ok = ok[np.abs(played_s[found[ok]] - expected_s[ok]) < window_s[ok]]
    return ok, found[ok]


def _nearest(expected_s: Floats, played_s: Floats, low: Ints, high: Ints) -> Ints:
    """Return for each note the nearest clap among those from ``low`` to before ``high``."""
    after = np.clip(np.searchsorted(played_s, expected_s), low, high - 1)
    before = np.clip(after - 1, low, high - 1)
    closer = np.abs(played_s[before] - expected_s) <= np.abs(played_s[after] - expected_s)
    return np.where(closer, before, after).astype(np.intp)


def _rows(starts: NDArray[np.bool_], alone: NDArray[np.bool_]) -> Iterator[slice]:
    """Yield each row of notes that compete for claps."""
    edges = np.flatnonzero(starts)
    ends = np.concatenate((edges[1:], [len(starts)]))
    for first, last in zip(edges.tolist(), ends.tolist(), strict=True):
        if not alone[first]:
            yield slice(first, last)


def _solved(
    expected_s: Floats, played_s: Floats, window_s: Floats, low: list[int], high: list[int]
) -> list[int]:
    """Return for each note of a row the clap that the best pairs give it, or -1.

    ``best[j]`` is the greatest sum with the notes so far and the claps before ``low + j + 1``.
    """
    played = played_s[low[0] : high[-1]].tolist()
    times, widths = expected_s.tolist(), window_s.tolist()
    base = low[0]
    sums: list[list[float]] = []
    row: list[float] = []
    row_low, before = base, 0.0
    for time, width, first, last in zip(times, widths, low, high, strict=True):
        skip = first - row_low
        if skip > 0:
            before = row[min(skip, len(row)) - 1] if row else before
            row = row[skip:]
        tail = row[-1] if row else before
        row = row + [tail] * (last - first - len(row))
        fresh: list[float] = []
        left_old, left_new = before, before
        for j, old in enumerate(row):
            gain = 1 - abs(played[first - base + j] - time) / width
            left_new = max(old, left_new, left_old + gain if gain > 0 else old)
            left_old = old
            fresh.append(left_new)
        sums.append([before, *row, *fresh])
        row, row_low = fresh, first
    return _traced(sums, low, high)


def _traced(sums: list[list[float]], low: list[int], high: list[int]) -> list[int]:
    """Return the claps chosen, walking back from the last note through the kept sums."""
    chosen = [-1] * len(sums)
    limit = high[-1]
    for note in range(len(sums) - 1, -1, -1):
        first, size = low[note], high[note] - low[note]
        kept = sums[note]
        old, new = kept[: size + 1], [kept[0], *kept[size + 1 :]]
        j = min(limit, high[note]) - first
        while j > 0 and new[j] > old[j]:
            if new[j] > new[j - 1]:
                chosen[note] = limit = first + j - 1
                break
            j -= 1
    return chosen
