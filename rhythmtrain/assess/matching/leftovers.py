"""Second stage of matching: notes and claps left over between two pairs.

A note half a beat late is too far from its place to be paired at once, yet it is neither missed
nor extra.  Between two neighbouring pairs the notes and the claps that are left over are paired
in order within three quarters of a beat, so that they can be called early or late by so much.
Of the pairings that use as many as possible the one with the smallest sum of distances is taken.
"""

from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

REACH_BEATS = 0.75
MOST_CELLS = 4_096


def pair_leftovers(
    expected_s: Floats, played_s: Floats, beat_s: Floats, notes: Ints, claps: Ints
) -> tuple[Ints, Ints]:
    """Return ``notes`` and ``claps`` with the pairs of the second stage put among them."""
    found: list[tuple[int, int]] = list(zip(notes.tolist(), claps.tolist(), strict=True))
    edges = [(-1, -1), *found, (len(expected_s), len(played_s))]
    for (note, clap), (next_note, next_clap) in pairwise(edges):
        if next_note - note > 1 and next_clap - clap > 1:
            left = range(note + 1, next_note)
            free = range(clap + 1, next_clap)
            found += _paired(expected_s, played_s, REACH_BEATS * beat_s, left, free)
    found.sort()
    both = np.array(found, dtype=np.intp).reshape(-1, 2)
    return both[:, 0], both[:, 1]


def _paired(
    expected_s: Floats, played_s: Floats, reach_s: Floats, left: range, free: range
) -> list[tuple[int, int]]:
    """Return the ordered pairs within reach that use the most notes, then the least distance."""
    if len(left) * len(free) > MOST_CELLS:
        return []
    nothing: tuple[int, float, tuple[tuple[int, int], ...]] = (0, 0.0, ())
    row = [nothing] * (len(free) + 1)
    for note in left:
        fresh = [nothing]
        for column, clap in enumerate(free, start=1):
            best = max(row[column], fresh[-1], key=lambda each: (each[0], each[1]))
            away = abs(float(played_s[clap] - expected_s[note]))
            if away <= reach_s[note]:
                many, near, chosen = row[column - 1]
                with_it = (many + 1, near - away, (*chosen, (note, clap)))
                best = max(best, with_it, key=lambda each: (each[0], each[1]))
            fresh.append(best)
        row = fresh
    return list(row[-1][2])
