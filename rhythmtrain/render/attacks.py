"""Where something is struck in a recording: the moments that must stay sharp when it is slowed.

A stroke is a sudden rise of what changes fastest in the wave.  The second difference of the wave
is squared and summed over the channels; where its mean over the next 4 ms stands ``LEAST_RISE``
over its mean over the last 12 ms, something was struck.  On clicks in silence the place found is
the first sample to ±1; on a piano made from formulas it lies 1 ms late, spread 1 ms (measured, see
tests/render/test_attacks.py).  Soft attacks are not found, and need not be: they have no edge.

The wave is read in pages that overlap, so any block size finds the same strokes.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.mixer import Sound

BEFORE_S, AFTER_S = 0.012, 0.004
LEAST_RISE = 20.0
# Of two strokes nearer than this only the sharper one is told.
APART_S = 0.015
# A stroke softer than this share of the loud places (their 99th percentile) is noise.
LEAST_SHARE = 1e-3
LOUD_PLACES = 0.99
PAGE = 1 << 16
NOTHING = 1e-15
AS_LARGE = 0.9

Energies = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class _Stroke:
    """A rise at a sample, and the mean energy after it."""

    at: int
    energy: float


def find_attacks(blocks: Iterable[Sound], rate: int) -> tuple[float, ...]:
    """Return the seconds from the first sample at which something is struck, rising.

    ``blocks`` have shape ``(n, channels)``.
    """
    before, after = round(BEFORE_S * rate), max(round(AFTER_S * rate), 2)
    apart = round(APART_S * rate)
    margin = before + after + apart
    strokes: list[_Stroke] = []
    usual: list[float] = []
    for start, page in _pages(_energies(blocks), margin):
        sums = np.concatenate(([0.0], np.cumsum(page)))
        places = np.arange(before, len(page) - after)
        later = (sums[places + after] - sums[places]) / after
        earlier = (sums[places] - sums[places - before]) / before
        usual += later[::after].tolist()
        for place in _summits((later + NOTHING) / (earlier + NOTHING), apart):
            inside = place + before
            if margin <= inside < len(page) - margin:
                strokes.append(_Stroke(start + inside, float(later[place])))
    least = LEAST_SHARE * float(np.quantile(usual, LOUD_PLACES)) if usual else 0.0
    return tuple(each.at / rate for each in strokes if each.energy > max(least, NOTHING))


def _summits(rises: Energies, apart: int) -> Iterator[int]:
    """Yield the places where ``rises`` is largest for ``apart`` to both sides, and large enough.

    Out of digital silence a stroke rises alike from before it begins: the last such place counts.
    """
    last = -apart
    for place in np.flatnonzero(rises > LEAST_RISE).tolist():
        low, high = max(place - apart, 0), place + apart + 1
        if place - last > apart and rises[place] >= rises[low:high].max():
            last = place + int(np.flatnonzero(rises[place:high] > AS_LARGE * rises[place])[-1])
            yield last


def _energies(blocks: Iterable[Sound]) -> Iterator[Energies]:
    """Yield the squared second difference, summed over the channels, from the first sample on."""
    kept: Sound | None = None
    for block in blocks:
        if kept is None:
            kept = np.zeros((2, block.shape[1]), dtype=np.float32)
        joined = np.concatenate((kept, block))
        yield (np.diff(joined.astype(np.float64), n=2, axis=0) ** 2).sum(axis=1)
        kept = joined[-2:]


def _pages(parts: Iterable[Energies], margin: int) -> Iterator[tuple[int, Energies]]:
    """Yield (sample of its first value, page): each overlaps its neighbours by twice ``margin``."""
    kept = np.zeros(margin)
    start = -margin
    for part in parts:
        kept = np.concatenate((kept, part))
        while len(kept) >= PAGE + 2 * margin:
            yield start, kept[: PAGE + 2 * margin]
            kept = kept[PAGE:]
            start += PAGE
    yield start, np.concatenate((kept, np.zeros(2 * margin)))
