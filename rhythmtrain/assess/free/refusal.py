"""Whether free playing is the passage at all.

A chain that follows any tempo finds something in any take, so two things are joined: how many of
the notes and claps it could pair, and how much more the best chain is worth than the best chains
of the same intervals in random order.  With fewer than twelve notes no opinion is given.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.free.match import best_chain
from rhythmtrain.assess.free.match_rows import GAIN
from rhythmtrain.assess.free.pieces import Asked, Go

Floats = NDArray[np.float64]

FEWEST_NOTES = 12
SHUFFLES = 6
MOST_CLAPS = 64
LEAST_AGREEMENT = 0.60
SURE_AGREEMENT = 0.90
LEAST_MARGIN = 0.12
# A perfect fragment says nothing of the rest: so much of the notes or claps must be paired.
SURE_COVER = 0.5


def opinion(asked: Asked, go: Go, rng: np.random.Generator) -> bool | None:
    """Return whether the take is of the passage, None where that cannot be told."""
    if min(len(asked.played_s), len(asked.written_s)) < FEWEST_NOTES:
        return None
    cover = len(go.pairs) / min(len(asked.played_s), len(asked.written_s))
    return looks_like(agreement(go), margin(asked, go, rng), cover)


def agreement(go: Go) -> float:
    """Return F over what was played: 1 when every note has its clap and every clap its note."""
    claps = go.pairs[-1][1] - go.pairs[0][1] + 1
    return 2 * len(go.pairs) / (go.last_note - go.first_note + 1 + claps)


def margin(asked: Asked, go: Go, rng: np.random.Generator) -> float:
    """Return how much more a clap is worth than in the same intervals shuffled, in pairs."""
    heard = asked.played_s[go.pairs[0][1] : go.pairs[-1][1] + 1][:MOST_CLAPS]
    gaps = np.diff(heard)
    worth = best_chain(asked.written_s, asked.units, heard).worth
    others = [
        best_chain(
            asked.written_s,
            asked.units,
            np.concatenate(([0.0], np.cumsum(rng.permutation(gaps)))),
        ).worth
        for _ in range(SHUFFLES)
    ]
    return (worth - float(np.mean(others))) / (GAIN * len(heard))


def looks_like(agreed: float, better: float, cover: float) -> bool:
    """Return True when the take may well be of the passage."""
    sure = agreed >= SURE_AGREEMENT and cover >= SURE_COVER
    return agreed >= LEAST_AGREEMENT and (sure or better >= LEAST_MARGIN)
