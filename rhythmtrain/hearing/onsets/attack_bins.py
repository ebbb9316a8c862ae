"""The wave around a candidate as energy in four bands and bins of a quarter millisecond.

The filters are causal, so nothing rings ahead of the attack.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft

from rhythmtrain.hearing.onsets.level import Mono

BIN_S = 0.00025
BEFORE_S = 0.042
AFTER_S = 0.036
CUTS_HZ = ((80.0, 350.0), (350.0, 1200.0), (1200.0, 3600.0), (3600.0, 16000.0))
QUIET = 1e-10
CLEAR_S = 0.015
WRAP_S = 0.006
TINY = 1e-30

Array = NDArray[np.float64]


def band_bins(segment: Mono, rate: int) -> tuple[Array, Array]:
    """Return mean energies, shape (bands, bins), and how many free numbers each bin of a band holds.

    Noise of bandwidth B is told by 2B numbers a second.  The bandwidth is that of the background
    before the attack, ``(sum of power)**2 / sum of power**2``: in a room that rumbles, a band holds
    fewer numbers than its edges promise.  (The factor 2 is that of a periodogram of noise.)
    """
    filters = _filters(segment.size, rate)
    waves = irfft(rfft(segment, filters.length) * filters.responses, filters.length, axis=1)
    m = bin_samples(rate)
    count = segment.size // m
    used = waves[:, : count * m]
    np.square(used, out=used)
    energy = used.reshape(len(waves), count, m) @ np.full(m, 1 / m, np.float32)
    ahead = rfft(segment[: filters.taper.size] * filters.taper, filters.ahead_length)
    power = (ahead.real**2 + ahead.imag**2) * filters.gains
    even_hz = 2 * power.sum(axis=1) ** 2 / np.maximum((power**2).sum(axis=1), TINY)
    even_hz *= rate / filters.ahead_length
    used_hz = np.where(even_hz > 0, np.minimum(even_hz, filters.widths_hz), filters.widths_hz)
    return energy.astype(np.float64) + QUIET, np.minimum(m, 2 * used_hz * m / rate)


def bin_samples(rate: int) -> int:
    """Return how many samples a bin holds."""
    return max(1, round(BIN_S * rate))


@dataclass(frozen=True, slots=True, eq=False)
class _Filters:
    """Causal bands on the grid of an FFT, and their power gains on that of a shorter one."""

    length: int
    ahead_length: int
    responses: NDArray[np.complex64]
    gains: NDArray[np.float32]
    widths_hz: Array
    taper: NDArray[np.float32]


@lru_cache(maxsize=8)
def _filters(size: int, rate: int) -> _Filters:
    """Return the bands of a segment of ``size`` samples: Butterworth, two poles a side, bilinear."""
    length = next_fast_len(size + round(WRAP_S * rate), real=True)
    taper = np.hanning(round((BEFORE_S - CLEAR_S) * rate)).astype(np.float32)
    ahead_length = next_fast_len(taper.size, real=True)
    cuts = [(low, high) for low, high in CUTS_HZ if low <= 0.4 * rate]
    responses = np.array([_response(cut, length, rate) for cut in cuts], dtype=np.complex64)
    gains = np.abs([_response(cut, ahead_length, rate) for cut in cuts]) ** 2
    widths_hz = np.array([min(high, 0.5 * rate) - low for low, high in cuts])
    return _Filters(length, ahead_length, responses, gains.astype(np.float32), widths_hz, taper)


def _response(cut_hz: tuple[float, float], length: int, rate: int) -> NDArray[np.complex128]:
    """Return one band's causal response on the grid of an FFT; above 0.42 of the rate it is open."""
    s = 1j * np.tan(np.minimum(np.pi * np.arange(length // 2 + 1) / length, 1.5707))
    low, high = np.tan(np.pi * np.minimum(cut_hz, 0.49 * rate) / rate)
    response: NDArray[np.complex128] = s**2 / (s**2 + np.sqrt(2) * low * s + low**2)
    if cut_hz[1] < 0.42 * rate:
        response *= high**2 / (s**2 + np.sqrt(2) * high * s + high**2)
    return response
