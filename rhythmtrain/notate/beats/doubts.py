"""How sure each beat of a map is: what more careful lattices say of the place it was given.

The lattice that places the beats takes the recording at its word and the tempo for as even as is
likeliest.  Those of ``beliefs`` that are asked here do neither; each has its share in what is
said.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from rhythmtrain.notate.beats.beliefs import Shares
from rhythmtrain.notate.beats.decoding import DENSE_S, RIGHT_S, SolvedBeat
from rhythmtrain.notate.beats.lattice import Posterior, posteriors


def wary_posteriors(wary: Shares) -> tuple[Posterior, ...]:
    """Return the posterior of every beat over all lattices of ``wary``, each by its share."""
    shares = [share for share, _ in wary]
    each = zip(*(posteriors(lattice)[0] for _, lattice in wary), strict=True)
    return tuple(mixed(shares, beat) for beat in each)


def mixed(shares: Sequence[float], found: Sequence[Posterior]) -> Posterior:
    """Return posteriors of one beat as one, each by its share; ``shares`` sum to 1."""
    start = min(each.start for each in found)
    stop = max(each.start + each.chance.size for each in found)
    chance = np.zeros(stop - start)
    for share, each in zip(shares, found, strict=True):
        first = each.start - start
        chance[first : first + each.chance.size] += share * each.chance
    return Posterior(start, chance)


def doubted(beat: SolvedBeat, wary: Posterior, frame_s: float) -> SolvedBeat:
    """Return ``beat`` with the certainty that a more careful posterior, ``wary``, gives it."""
    times = (wary.start + np.arange(wary.chance.size)) * frame_s
    sure = min(float(wary.chance[np.abs(times - beat.time_s) <= RIGHT_S].sum()), 1.0)
    away = np.maximum(np.abs(times - beat.time_s) - DENSE_S, 0.0)
    spread = float(np.sqrt(np.average(away**2, weights=wary.chance)))
    return replace(beat, uncertainty_s=float(np.hypot(beat.uncertainty_s, spread)), chance=sure)
