"""An entry that was not made where it is written: where it was made, as far as that can be told.

An entry is looked for within two bars of its place, so that a clap in another phrase is not taken
for it.  In a try at one entry nothing else is played after the rest has begun: whatever is heard then was
meant for the entry, however far away.  Where most of its phrase is heard in its own rhythm, that
is where the player came in.  Where even claps go through the rest, its beats were counted aloud
with the hands.  Anything else is told as what it is: where the first clap lay.
"""

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# A clap stands for a note within this much of a beat.
NEAR_BEATS = 0.20
# So many notes of the phrase must be there, in its rhythm, with few claps between them.
FEWEST_NOTES, LEAST_SHARE = 3, 0.75
FEWEST_BEATS, EVEN_SHARE = 4, 0.15
PLAINLY_MORE = 2


class Found(StrEnum):
    """What was heard in place of the entry."""

    PHRASE = "phrase"
    BEATS = "beats"
    CLAP = "clap"


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What was heard, and by how many beats late (negative: early) it, or its first clap, was."""

    found: Found
    beats: float


def elsewhere(aims_s: Floats, claps_s: Floats, beat_s: float, *, end_s: float) -> Elsewhere | None:
    """Return what was heard in place of a phrase, None where nothing was.

    ``aims_s`` are when the phrase was to come, the entry first, ``claps_s`` what was heard from the
    beginning of the rest to ``end_s``, when the take ended.
    """
    claps_s = claps_s[claps_s < end_s]
    if not len(claps_s):
        return None
    first = float(claps_s[0] - aims_s[0]) / beat_s
    if len(claps_s) >= FEWEST_BEATS and _even(claps_s, beat_s) and not _even(aims_s, beat_s):
        return Elsewhere(Found.BEATS, first)
    late = _best_late_s(aims_s, claps_s, beat_s, end_s)
    if late is not None:
        return Elsewhere(Found.PHRASE, late / beat_s)
    return Elsewhere(Found.CLAP, first)


def _even(times_s: Floats, beat_s: float) -> bool:
    return bool(np.all(np.abs(np.diff(times_s) / beat_s - 1) <= EVEN_SHARE))


def heard_better(
    aims_s: Floats, claps_s: Floats, beat_s: float, *, there: float, here: float
) -> bool:
    """Return whether plainly more of a phrase is heard ``there`` than ``here``, in beats late."""
    near = NEAR_BEATS * beat_s
    most, less = (_heard(aims_s + beats * beat_s, claps_s, near) for beats in (there, here))
    return most >= less + PLAINLY_MORE


def _best_late_s(aims_s: Floats, claps_s: Floats, beat_s: float, end_s: float) -> float | None:
    """Return by how many seconds the phrase came late as a whole, None where it did not come."""
    near = NEAR_BEATS * beat_s
    best, most = None, 0
    for clap in claps_s:
        late = float(clap - aims_s[0])
        aims = aims_s + late
        aims = aims[aims < end_s]
        heard = _heard(aims, claps_s, near)
        between = np.sum((claps_s >= aims[0] - near) & (claps_s <= aims[-1] + near))
        enough = heard >= max(FEWEST_NOTES, LEAST_SHARE * len(aims), LEAST_SHARE * between)
        if enough and heard > most:
            best, most = late, heard
    return best


def _heard(aims_s: Floats, claps_s: Floats, near_s: float) -> int:
    """Return how many of the places have a clap."""
    away = np.abs(aims_s[:, None] - claps_s[None, :]).min(axis=1)
    return int(np.sum(away <= near_s))
