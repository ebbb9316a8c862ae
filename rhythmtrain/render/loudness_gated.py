"""How loud a piece of music is on the whole: gated loudness (ITU-R BS.1770-4, annex 1).

The weighted power of windows of 0.4 s, one every 0.1 s, is averaged over the windows above -70
LUFS, and then over those no more than 10 LU softer than that average.
"""

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.loudness import OFFSET_DB, ear_weight, lufs
from rhythmtrain.render.mixer import MONO, Sound

HOP_S, HOPS_A_WINDOW = 0.1, 4
SILENCE_LUFS, SOFTER_LU = -70.0, 10.0

Floats = NDArray[np.float64]


def gated_loudness(blocks: Iterable[Sound], rate: int) -> float:
    """Return the loudness in LUFS of ``blocks``, shape (n, channels); -inf for silence.

    What has one channel counts as heard in both.
    """
    powers = np.array(list(_powers(blocks, rate)))
    if not powers.size:
        return -np.inf
    loud = powers[powers > _power(SILENCE_LUFS)]
    if not loud.size:
        return -np.inf
    kept = loud[loud > loud.mean() * 10 ** (-SOFTER_LU / 10)]
    return lufs(float(kept.mean()))


def _power(loudness: float) -> float:
    return float(10 ** ((loudness - OFFSET_DB) / 10))


def _powers(blocks: Iterable[Sound], rate: int) -> Iterator[float]:
    """Yield the weighted power of each window; a last one that is too short is left out."""
    hop = round(HOP_S * rate)
    size = hop * HOPS_A_WINDOW
    weight = ear_weight(np.asarray(np.fft.rfftfreq(size, 1 / rate), dtype=np.float64))
    weight[1:-1] *= 2
    kept: Sound | None = None
    for block in blocks:
        kept = block if kept is None else np.concatenate((kept, block))
        start = 0
        while start + size <= len(kept):
            spectrum = np.fft.rfft(kept[start : start + size], axis=0)
            power = (np.abs(spectrum) ** 2).sum(axis=1) / size**2
            heard_twice = 2 if kept.shape[1] == MONO else 1
            yield float((power * weight).sum()) * heard_twice
            start += hop
        kept = kept[start:]
