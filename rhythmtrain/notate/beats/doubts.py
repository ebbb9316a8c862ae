"""How sure each beat of a map is: what more careful lattices say of the place it was given.

The lattice that places the beats takes the recording at its word and the tempo for as even as is
likeliest.  Those of ``beliefs`` that are asked here do neither; each has its share in what is
said.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.notate.beats.beliefs import Shares
from rhythmtrain.notate.beats.decoding import DENSE_S, RIGHT_S, SolvedBeat
from rhythmtrain.notate.beats.lattice import Posterior, posteriors


def wary_posteriors(wary: Shares) -> tuple[tuple[Posterior, Posterior], ...]:
    """Return two posteriors of every beat: by the first of ``wary``, and by all, each by its share."""
    shares = [share for share, _ in wary]
    each = zip(*(posteriors(lattice)[0] for _, lattice in wary), strict=True)
    return tuple((beat[0], mixed(shares, beat)) for beat in each)


def mixed(shares: Sequence[float], found: Sequence[Posterior]) -> Posterior:
    """Return posteriors of one beat as one, each by its share; ``shares`` sum to 1."""
    start = min(each.start for each in found)
    stop = max(each.start + each.chance.size for each in found)
    chance = np.zeros(stop - start)
    for share, each in zip(shares, found, strict=True):
        first = each.start - start
        chance[first : first + each.chance.size] += share * each.chance
    return Posterior(start, chance)


def doubted(beat: SolvedBeat, wary: tuple[Posterior, Posterior], frame_s: float) -> SolvedBeat:
    """Return ``beat`` with the certainty that more careful posteriors, ``wary``, give it.

    The first gives its standard error, which takes are judged with; the second, of freer tempi too,
    the chance that it is right, by which bars are named to be heard.
    """
    plain, freer = wary
    sure = float(freer.chance[np.abs(_times(freer, frame_s) - beat.time_s) <= RIGHT_S].sum())
    away = np.maximum(np.abs(_times(plain, frame_s) - beat.time_s) - DENSE_S, 0.0)
    spread = float(np.sqrt(np.average(away**2, weights=plain.chance)))
    unsure = float(np.hypot(beat.uncertainty_s, spread))
    return replace(beat, uncertainty_s=unsure, chance=min(sure, 1.0))


def _times(posterior: Posterior, frame_s: float) -> NDArray[np.float64]:
    frames = np.arange(posterior.start, posterior.start + posterior.chance.size, dtype=np.float64)
    return frames * frame_s
