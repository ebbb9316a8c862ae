"""Which onsets of a take are one try of the passage, and which another.

Someone who claps a passage several times stops between.  The take is cut at its longest gaps; the
pieces that have equally many onsets, in about the same rhythm, are tries of one passage.  Where no
cut gives two such pieces the take is one try: its gaps are rests.  Who claps straight on says how
often the passage comes.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError

Floats = NDArray[np.float64]

MOST_TRIES = 12
FEWEST_NOTES = 3
# Between tries one stops for at least so long; within this much two tries have the same rhythm
# (root mean square of the differences of their intervals, in median intervals, both tries made
# equally long): 20 ms of spread at sixteenths of quarter = 90 is 0.24.
SHORTEST_STOP_S = 1.2
ALIKE = 0.45
# Two onsets closer than this are one clap heard twice; sixteenths at 208 are 72 ms apart.
DOUBLED_S = 0.045


@dataclass(frozen=True, slots=True)
class Tries:
    """The tries that are read together, and how many onsets each of the rest has."""

    together: tuple[Floats, ...]
    left_out: tuple[int, ...] = ()


def split_tries(onsets_s: Sequence[float], times: int | None = None) -> Tries:
    """Return the tries in a take; ``times`` is how often the passage comes, where that was said.

    Raises:
        RequestError: the onsets do not divide into so many tries.
    """
    onsets = without_doubles(onsets_s)
    if times is None:
        return _found(onsets)
    if not 1 <= times <= MOST_TRIES:
        raise RequestError(f"--times must be 1 to {MOST_TRIES}, got {times}")
    if len(onsets) % times or len(onsets) < times * FEWEST_NOTES:
        raise RequestError(
            f"{len(onsets)} claps do not divide into {times} tries: was one missed, or heard twice?"
        )
    return Tries(tuple(np.split(onsets, times)))


def without_doubles(onsets_s: Sequence[float]) -> Floats:
    """Return the onsets, of any that follow closer than a hand can clap the first."""
    kept: list[float] = []
    for onset in onsets_s:
        if not kept or onset - kept[-1] >= DOUBLED_S:
            kept.append(onset)
    return np.array(kept)


def _found(onsets: Floats) -> Tries:
    gaps = np.diff(onsets)
    best = Tries((onsets,))
    longest = np.argsort(-gaps, kind="stable")
    for cuts in range(1, min(MOST_TRIES, len(gaps) + 1)):
        if gaps[longest[cuts - 1]] < SHORTEST_STOP_S:
            break
        found = _alike(np.split(onsets, np.sort(longest[:cuts]) + 1))
        if found is not None and len(found.together) > len(best.together):
            best = found
    return best


def _alike(pieces: list[Floats]) -> Tries | None:
    """Return the pieces that are tries of one passage, if they are most of the take."""
    sizes = [len(piece) for piece in pieces]
    size = max(sorted(set(sizes), reverse=True), key=lambda each: each * sizes.count(each))
    same = [piece for piece in pieces if len(piece) == size]
    others = tuple(len(piece) for piece in pieces if len(piece) != size)
    enough = size > FEWEST_NOTES and len(same) > 1 and 2 * size * len(same) > sum(sizes)
    if not enough:
        return None
    rows = np.diff(np.stack(same), axis=1)
    rows = rows / rows.sum(axis=1, keepdims=True)
    off = np.sqrt(np.mean(np.ptp(rows, axis=0) ** 2)) / np.median(rows)
    return Tries(tuple(same), others) if off < ALIKE else None
