"""Whether what was played is the passage at all.

Two things are joined.  *Agreement* is F = 2 pairs / (expected + claps) over what was played.  The
*shuffle test* asks whether the order of the intervals matters: the same intervals in random order
are followed through the passage too, and the take must be worth clearly more than those.  A take
of another passage agrees by chance, and its shuffled intervals agree as well.

With fewer than twelve notes neither can be trusted, and no opinion is given.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.following import follow
from rhythmtrain.assess.rendition import Rendition
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]

FEWEST_NOTES = 12
SHUFFLES = 12
MOST_CLAPS = 96
SURE_AGREEMENT = 0.70
LEAST_AGREEMENT = 0.45
SURE_MARGIN = 0.16


def opinion(
    rendition: Rendition, played_s: Floats, written: Written, rng: np.random.Generator
) -> bool | None:
    """Return whether the take is of the passage, None where that cannot be told."""
    if min(len(played_s), len(written.times_s)) < FEWEST_NOTES:
        return None
    return looks_like(_agreement(rendition), margin(played_s, written, rng))


def _agreement(rendition: Rendition) -> float:
    pairs = int(np.sum(rendition.clap >= 0))
    expected = int(np.sum(rendition.part >= 0))
    return agreement(pairs, expected, pairs + len(rendition.extras))


def agreement(pairs: int, expected: int, claps: int) -> float:
    """Return F: 1 when every note has its clap and every clap its note, 0 when none has."""
    return 2 * pairs / (expected + claps) if expected + claps else 0.0


def margin(played_s: Floats, written: Written, rng: np.random.Generator) -> float:
    """Return how much more a clap of the take is worth than one of the same intervals shuffled."""
    heard = played_s[:MOST_CLAPS]
    worth = follow(heard, written)[1]
    gaps = np.diff(heard)
    others = [
        follow(heard[0] + np.concatenate(([0.0], np.cumsum(rng.permutation(gaps)))), written)[1]
        for _ in range(SHUFFLES)
    ]
    return float(worth - np.mean(others)) / len(heard)


def looks_like(agreement_f: float, margin_worth: float) -> bool:
    """Return True when the take may well be of the passage."""
    if agreement_f < LEAST_AGREEMENT:
        return False
    return agreement_f >= SURE_AGREEMENT or margin_worth >= SURE_MARGIN
