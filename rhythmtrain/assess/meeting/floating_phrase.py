"""By how much a phrase came late beside a recording, though it floats over it.

Its first note meets the recording; what follows may run ahead or behind more and more, as a random
walk over beats, before the two meet again.  So the lateness of the notes is a common shift, plus a
walk from 0 at the first note, plus what honest notes are off; generalised least squares gives the
shift and its error, and the first notes count most.  Whoever only hesitates plays a late first note
and goes on in time: that is the second reading, in which the first note says next to nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

# How far the tune floats away, in beats for every √beat, and how far out a hesitated note may lie.
FLOAT = 0.15
HESITATED_BEATS = 0.35
PRIOR_HESITATED = 0.10


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a phrase: its share, its lateness and the standard error of that, in beats."""

    share: float
    late: float
    error: float


def readings(after: Sequence[float], late: Sequence[float], error: float) -> tuple[Reading, ...]:
    """Return the readings of a phrase: all of it moved, and only its first note hesitated.

    ``after`` are the places of its notes, in beats from the first of them that was played, which is
    the phrase's first; ``late`` how many beats late each came; ``error`` the standard error of one.
    """
    places = np.asarray(after, dtype=np.float64)
    heard = np.asarray(late, dtype=np.float64)
    spread = FLOAT**2 * np.minimum(places[:, None], places[None, :]) + error**2 * np.eye(len(heard))
    hesitated = spread.copy()
    hesitated[0, 0] += HESITATED_BEATS**2
    priors = (1 - PRIOR_HESITATED, PRIOR_HESITATED)
    weighed = [_shifted(heard, each) for each in (spread, hesitated)]
    most = max(worth for _, _, worth in weighed)
    shares = [
        prior * float(np.exp(worth - most))
        for prior, (_, _, worth) in zip(priors, weighed, strict=True)
    ]
    return tuple(
        Reading(share / sum(shares), shift, wide)
        for share, (shift, wide, _) in zip(shares, weighed, strict=True)
    )


def _shifted(heard: Floats, spread: Floats) -> tuple[float, float, float]:
    """Return the common shift, its standard error, and the log evidence of what was heard.

    The evidence is that under a shift of which nothing is known.
    """
    precise = np.linalg.inv(spread)
    weight = float(precise.sum())
    shift = float(precise.sum(axis=0) @ heard) / weight
    left = heard - shift
    worth = -0.5 * float(left @ precise @ left)
    worth -= 0.5 * (float(np.linalg.slogdet(spread)[1]) + float(np.log(weight)))
    return shift, weight**-0.5, worth
