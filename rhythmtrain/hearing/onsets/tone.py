"""Whether what starts is a tone: a note sounds on and repeats itself, a breath or a key does not.

The measure is the highest peak of the normalised autocorrelation, divided by that of the window
(Boersma 1993, "Accurate short-term analysis of the fundamental frequency and the harmonics-to-noise
ratio of a sampled sound"), in the best of several windows in the 0.3 s after an onset: a syllable
may begin with a hiss and is a tone a moment later.  1 is a steady tone, white noise is near 0.2.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.level import Mono

RATE_HZ = 12_000
AFTER_S, REACH_S = 0.01, 0.3
WINDOW_S, STEP_S = 0.06, 0.02
HIGHEST_HZ, LOWEST_HZ = 1300.0, 40.0
APART = 0.3
TINY = 1e-12

Array = NDArray[np.float64]


def tone_share(sound: Mono, place: int, rate: int, *, within_s: float = REACH_S) -> float:
    """Return how much of what follows sample ``place`` of ``sound`` repeats itself, 0 to about 1.

    It must begin to do so ``within_s``.  What is too short to be told counts as a tone.
    """
    step = max(1, rate // RATE_HZ)
    begin = max(0, place + round(AFTER_S * rate))
    part = sound[begin : begin + round(within_s * rate)].astype(np.float64)
    whole = len(part) // step
    coarse = part[: whole * step].reshape(whole, step).mean(axis=1)
    size, hop = (round(seconds * rate / step) for seconds in (WINDOW_S, STEP_S))
    if whole < size:
        return 1.0
    frames = np.lib.stride_tricks.sliding_window_view(coarse, size)[::hop]
    frames = (frames - frames.mean(axis=1, keepdims=True)) * _window(size)
    like = _autocorrelation(frames) / _autocorrelation(_window(size)[None])
    like /= np.maximum(like[:, :1], TINY)
    first, last = (round(rate / step / hz) for hz in (HIGHEST_HZ, LOWEST_HZ))
    return max(_peak(row[:last], first) for row in like)


def _peak(like: Array, first: int) -> float:
    """Return the highest value after the curve has first come down from 1."""
    down = np.flatnonzero(like < APART)
    begin = max(first, int(down[0])) if down.size else len(like)
    return float(like[begin:].max(initial=0.0))


def _autocorrelation(frames: Array) -> Array:
    size = frames.shape[1]
    power = np.abs(np.fft.rfft(frames, 2 * size, axis=1)) ** 2
    lags: Array = np.fft.irfft(power, axis=1)[:, : size // 2]
    return lags


@lru_cache(maxsize=4)
def _window(size: int) -> Array:
    return np.hanning(size + 2)[1:-1]
