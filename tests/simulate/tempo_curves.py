"""How the tempo of an accompanist breathes: three models, each scaled to a wanted spread.

walk     tempo is a slow random walk over beats, pulled back to its mean
arcs     every phrase speeds up and slows down in a parabola (after Todd 1985)
manners  slow swings, heavy downbeats, and breaths between phrases

*Spread* is the standard deviation of the logarithm of the bars' durations: .04 to .08 in steady
accompanists, twice that and more in expressive solo playing.  After scaling, a performance may end
in the final ritard v(x) = [1 + (w^q - 1) x]^(1/q) of Friberg & Sundberg (1999), where x runs from
0 to 1 over the last bars and w is the last tempo over the first.
"""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Random = np.random.Generator
GRID = 24


def seconds_of(
    rng: Random, *, bars: int, beats: int, beat_s: float, model: str, spread: float
) -> tuple[Floats, Floats]:
    """Return places in beats, on a fine grid, and the seconds at which they fall, from 0."""
    at = np.arange(bars * beats * GRID + 1) / GRID
    logs = MODELS[model](at, beats, rng)
    logs *= spread / max(_bar_spread(logs, beats), 1e-9)
    slowness = np.exp(np.clip(logs, -0.7, 0.7))
    if rng.random() < 0.7:
        slowness = slowness / _final_ritard(at, beats, rng, gentle=spread < 0.09)
    steps = slowness * beat_s / GRID
    return at, np.concatenate(([0.0], np.cumsum(steps[:-1])))


def _bar_spread(logs: Floats, beats: int) -> float:
    whole = len(logs) // (beats * GRID)
    means = np.exp(logs[: whole * beats * GRID]).reshape(whole, -1).mean(axis=1)
    return float(np.std(np.log(means)))


def _final_ritard(at: Floats, beats: int, rng: Random, *, gentle: bool) -> Floats:
    last = rng.uniform(0.6, 0.8) if gentle else rng.uniform(0.35, 0.65)
    curve, length = rng.uniform(2, 3), beats * rng.uniform(1, 2)
    along = np.clip((at - (at[-1] - length)) / length, 0, 1)
    ritard: Floats = (1 + (last**curve - 1) * along) ** (1 / curve)
    return ritard


def _walk(at: Floats, beats: int, rng: Random) -> Floats:
    pushes = rng.normal(0, 1, len(at))
    logs = np.empty(len(at))
    here, keep = 0.0, 1 - 1 / (GRID * beats * rng.uniform(2, 6))
    for index, push in enumerate(pushes.tolist()):
        here = here * keep + push
        logs[index] = here
    smooth = np.hanning(GRID)
    walked: Floats = np.convolve(logs - logs.mean(), smooth / smooth.sum(), "same")
    return walked


def _arcs(at: Floats, beats: int, rng: Random) -> Floats:
    phrase = beats * float(rng.choice((4, 8)))
    inside = (at % phrase) / phrase
    depth = rng.uniform(0.5, 1.5, int(at[-1] / phrase) + 2)[(at / phrase).astype(int)]
    half = (at % (phrase / 2)) / (phrase / 2)
    arcs: Floats = depth * (2 * inside - 1) ** 2 + 0.4 * (2 * half - 1) ** 2
    return arcs


def _manners(at: Floats, beats: int, rng: Random) -> Floats:
    swing = np.sin(2 * np.pi * (at / (beats * rng.uniform(3, 7)) + rng.random()))
    swing += 0.6 * np.sin(2 * np.pi * (at / (beats * rng.uniform(9, 20)) + rng.random()))
    heavy = rng.uniform(0, 0.5) * ((at % beats) < 1)
    phrase = beats * 4
    breath = (at % phrase) > phrase - 0.5
    breathes = (rng.random(int(at[-1] / phrase) + 2) < 0.6)[(at / phrase).astype(int)]
    manners: Floats = swing + heavy + 1.5 * breath * breathes
    return manners


MODELS: Mapping[str, Callable[[Floats, int, Random], Floats]] = {
    "walk": _walk,
    "arcs": _arcs,
    "manners": _manners,
}
