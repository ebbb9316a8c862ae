"""What a recording sounds like, in a line of text: enough to tell it from another of the same length.

At 240 places of the first forty seconds it is asked whether the tenth of a second after is louder
than the tenth of a second before (``+``), softer (``-``), or neither (``.``).  So it tells *when*
something is struck and dies away, which is what a beat map is about: a level, tags and a codec leave
it as it is, another playing does not have it.  The places lie unevenly (by the golden ratio), so that
a steady beat falls on all of its phases.

Two lines are compared by the correlation of their signs (phi), because most places of a piano are
softer in any playing.  Measured on recordings re-encoded and on other playings of the same notes,
see ``tests/hearing/recording/test_likeness.py``.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

SIDE_S = 0.1
PLACES, LAST_S = 240, 40.0
GOLDEN = (5**0.5 - 1) / 2
# A difference that a codec does not make, and how far below the loudest place nothing is asked.
PLAIN_DB, SILENT_DB = 1.0, -45.0
# Fewer than so many places, or strokes among them, tell nothing.
FEWEST, FEWEST_OF_A_KIND = 24, 5
SAME_PHI = 0.6
LOUDER, SOFTER, NEITHER = "+", "-", "."


def likeness(blocks: Iterable[NDArray[np.float32]], rate: int) -> str:
    """Return the line of the sound in ``blocks``, shape (n,), at ``rate`` samples a second.

    No more blocks are taken than are needed; a recording that is shorter has fewer places.
    """
    power = _power(blocks, round((LAST_S + SIDE_S) * rate))
    number = np.arange(PLACES)
    places_s = SIDE_S + (LAST_S - SIDE_S) * (number + number * GOLDEN % 1) / PLACES
    places_s = places_s[places_s + SIDE_S <= power.size / rate]
    before = _between(power, places_s - SIDE_S, places_s, rate)
    after = _between(power, places_s, places_s + SIDE_S, rate)
    loudest = max(before.max(initial=0.0), after.max(initial=0.0))
    if not loudest:
        return NEITHER * places_s.size
    floor = loudest * 10 ** (SILENT_DB / 10)
    rise_db = 10 * np.log10((after + floor) / (before + floor))
    signs = np.where(rise_db >= PLAIN_DB, LOUDER, np.where(rise_db <= -PLAIN_DB, SOFTER, NEITHER))
    return "".join(signs.tolist())


def sounds_other(kept: str, now: str) -> bool:
    """Return whether two lines are plainly of two recordings; where that cannot be told, False."""
    signs = [(one, two) for one, two in zip(kept, now, strict=False) if NEITHER not in (one, two)]
    if len(signs) < FEWEST:
        return False
    kinds = np.array([[one == LOUDER, two == LOUDER] for one, two in signs], dtype=float)
    many = kinds.sum(axis=0)
    if min(many.min(), len(signs) - many.max()) < FEWEST_OF_A_KIND:
        return False
    return bool(np.corrcoef(kinds.T)[0, 1] < SAME_PHI)


def _power(blocks: Iterable[NDArray[np.float32]], frames: int) -> NDArray[np.float32]:
    """Return the power of the first ``frames`` samples."""
    taken: list[NDArray[np.float32]] = []
    for block in blocks:
        taken.append(block**2)
        frames -= block.size
        if frames <= 0:
            break
    return np.concatenate(taken) if taken else np.zeros(0, np.float32)


def _between(
    power: NDArray[np.float32], from_s: NDArray[np.float64], to_s: NDArray[np.float64], rate: int
) -> NDArray[np.float64]:
    """Return the mean power between pairs of seconds."""
    pairs = np.column_stack((from_s, to_s))
    edges = np.rint(pairs * rate).astype(int)
    return np.array([power[first:last].mean(dtype=np.float64) for first, last in edges])
