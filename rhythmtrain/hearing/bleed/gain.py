"""What a fixed room cannot follow: gains of the bleed that move in time, and how much is left over.

A compressor, a hand on the volume, a swaying microphone change the bleed faster than a response can
be solved again.  In windows of 23 ms and bands of a quarter octave or so, the predicted bleed is
given one complex gain, smoothed over some hundredths of a second, by least squares weighted with
one over the power of what is left (so that a clap does not count), held to 1 by a prior: each band's
own, as wide as its gains themselves say once what noise makes of them is taken off.

What is left of the bleed is told in the same cells: in each band the usual share of the predicted
power that remains, where the prediction is loud; a low percentile, because claps only add to it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, rfft
from scipy.ndimage import gaussian_filter1d

from rhythmtrain.hearing.bleed.correlation import Real, Sound

WINDOW_S = 0.023
BANDS = 24
LOWEST_HZ, HIGHEST_HZ = 100.0, 16_000.0
SMOOTH_S = 0.04
WIDEST, NARROWEST = 0.5, 0.01
FITS = 5
FLOOR_SHARE = 0.02
TINY = 1e-10
LEAST_LEFT, MOST_LEFT = 1e-3, 1.0
LEFT_PERCENTILE = 40
LOUD_PERCENTILE = 50
NOISE_PERCENTILE, NOISE_FACTOR = 10, 1.5

Cells = NDArray[np.complex64]


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """The bleed with its gains, and a sound as loud, cell by cell, as what is left of it."""

    bleed: Sound
    leftover: Sound


def gained(heard: Sound, predicted: Sound, rate: int) -> Fitted:
    """Return ``predicted``, shape (n,), with the gains that bring it nearest to ``heard``."""
    size = 2 * round(0.5 * WINDOW_S * rate)
    cells, expected = _cells(heard, size), _cells(predicted, size)
    edges, counts = _bands(size, rate)
    gain = _gains(cells, expected, edges, SMOOTH_S * rate / (size // 2))
    expected *= np.repeat(gain, counts, axis=1)
    left = np.sqrt(_shares_left(cells - expected, expected, edges))
    bleed = _sound(expected, size, len(heard))
    expected *= np.repeat(left, counts, axis=1)
    return Fitted(bleed, _sound(expected, size, len(heard)))


def _bands(size: int, rate: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return the first bin of each band, the first at 0, and how many bins each has."""
    hertz = np.geomspace(LOWEST_HZ, min(HIGHEST_HZ, 0.48 * rate), BANDS)
    edges = np.unique(np.concatenate([[0], np.rint(hertz * size / rate).astype(np.int64)]))
    return edges, np.diff(edges, append=size // 2 + 1)


def _gains(cells: Cells, expected: Cells, edges: NDArray[np.int64], smooth: float) -> Cells:
    """Return one complex gain a frame and band."""
    counts = np.diff(edges, append=cells.shape[1])
    power = _banded(expected, edges)
    apart = np.add.reduceat((cells - expected) * np.conj(expected), edges, axis=1)
    seen = smooth * np.sqrt(4 * np.pi)
    varied = np.full(power.shape[1], WIDEST**2)
    gain = np.ones(power.shape, np.complex64)
    for _ in range(FITS):
        left = _banded(cells - np.repeat(gain, counts, axis=1) * expected, edges)
        sure = counts / (left + FLOOR_SHARE * power + TINY)
        along = sure * apart
        real, imaginary = (
            gaussian_filter1d(part, smooth, axis=0) for part in (along.real, along.imag)
        )
        force = gaussian_filter1d(sure * power, smooth, axis=0)
        whole = force + 1 / (varied * seen)
        away = (real + 1j * imaginary) / whole
        gain = (1 + away).astype(np.complex64)
        varied = _varied(away, force / whole, 1 / (whole * seen))
    return gain


def _varied(away: Cells, telling: Real, doubt: Real) -> Real:
    """Return the variance of the gains of each band, counted where the sound is ``telling``."""
    size = away.real**2 + away.imag**2 + doubt
    varied = (telling * size).sum(axis=0) / np.maximum(telling.sum(axis=0), TINY)
    held: Real = np.clip(varied, NARROWEST**2, WIDEST**2)
    return held


def _shares_left(left: Cells, expected: Cells, edges: NDArray[np.int64]) -> Real:
    """Return the usual share of power that is left in each band, shape (1, bands)."""
    power, rest = _banded(expected, edges), _banded(left, edges)
    loud = power >= np.percentile(power, LOUD_PERCENTILE, axis=0)
    noise = NOISE_FACTOR * np.percentile(rest, NOISE_PERCENTILE, axis=0)
    shares = np.where(loud, (rest - noise) / (power + TINY), np.nan)
    usual = np.nanpercentile(shares, LEFT_PERCENTILE, axis=0)[None, :]
    left_shares: Real = np.clip(usual, LEAST_LEFT, MOST_LEFT)
    return left_shares


def _banded(cells: Cells, edges: NDArray[np.int64]) -> Real:
    power: Real = np.add.reduceat(cells.real**2 + cells.imag**2, edges, axis=1)
    return power


def _cells(sound: Sound, size: int) -> Cells:
    """Return spectra of windows half over one another, shape (frames, bins)."""
    frames = np.lib.stride_tricks.sliding_window_view(np.pad(sound, (size, 2 * size)), size)
    spectra: Cells = rfft(frames[:: size // 2] * _window(size), axis=1)
    return spectra


def _sound(cells: Cells, size: int, count: int) -> Sound:
    """Return the sound of which ``cells`` are the spectra, shape (count,)."""
    frames = irfft(cells, size, axis=1) * _window(size)
    half = size // 2
    total = np.zeros((len(frames) + 1) * half, np.float32)
    total[: len(frames) * half] += frames[:, :half].ravel()
    total[half:] += frames[:, half:].ravel()
    return total[size : size + count]


def _window(size: int) -> Sound:
    """Return the root of a Hann window: twice applied, half over one another, it sums to 1."""
    return np.sqrt(0.5 - 0.5 * np.cos(2 * np.pi * np.arange(size) / size)).astype(np.float32)
