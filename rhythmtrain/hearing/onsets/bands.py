"""Energy in bands: what the ear's first stage does, on a grid of 5 ms.

A frame is a Hann window centred at ``round(k * 0.005 * rate)``; centres come from the absolute
frame number, so nothing accumulates over an hour.  Its power spectrum is summed in bands of equal
width on a logarithmic scale, none narrower than one bin.  Energies are scaled so that a band of
white noise of variance 1 has energy 1 per bin.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import next_fast_len, rfft

from rhythmtrain.hearing.onsets.kinds import Kind
from rhythmtrain.hearing.onsets.level import Mono

HOP_S = 0.005
HIGHEST_HZ = 16000.0

Energies = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """A filter bank at one rate: ``starts`` are the first bins of each band, ``stop`` ends the last."""

    rate: int
    window: Mono
    length: int
    starts: NDArray[np.int64]
    stop: int

    @property
    def bins(self) -> NDArray[np.int64]:
        """Return how many bins each band sums."""
        return np.diff(self.starts, append=self.stop)

    @property
    def weights(self) -> NDArray[np.float32]:
        """Return each band's share in a mean, as the square root of its bins.

        That is the inverse of how much noise makes a band's level flicker.
        """
        roots = np.sqrt(self.bins)
        shares: NDArray[np.float32] = (roots / roots.sum()).astype(np.float32)
        return shares

    @property
    def reach(self) -> int:
        """Return how many samples a frame takes before its centre (and after it, less one)."""
        return self.window.size // 2


def bands_for(kind: Kind, rate: int) -> Bands:
    """Return the filter bank of ``kind`` at ``rate`` samples a second."""
    half = round(0.5 * kind.window_s * rate)
    hann = 0.5 - 0.5 * np.cos(2 * np.pi * (np.arange(2 * half) + 0.5) / (2 * half))
    window = (hann / np.sqrt(np.sum(hann**2))).astype(np.float32)
    length = next_fast_len(2 * half, real=True)
    highest = min(HIGHEST_HZ, 0.48 * rate)
    octaves = np.log2(highest / kind.lowest_hz)
    edges_hz = kind.lowest_hz * 2 ** np.linspace(
        0, octaves, round(octaves * kind.bands_per_octave) + 1
    )
    bins = np.unique(np.maximum(1, np.rint(edges_hz * length / rate)).astype(np.int64))
    return Bands(rate, window, length, bins[:-1], int(bins[-1]))


def frame_centres(first: int, count: int, rate: int) -> NDArray[np.int64]:
    """Return the samples at which ``count`` frames from number ``first`` are centred."""
    places = np.rint(np.arange(first, first + count) * (HOP_S * rate))
    centres: NDArray[np.int64] = places.astype(np.int64)
    return centres


def band_energies(sound: Mono, centres: NDArray[np.int64], bands: Bands) -> Energies:
    """Return energies, shape (frames, bands), of frames of ``sound`` centred at ``centres``.

    Every frame must lie inside ``sound``: ``reach <= centre <= n - reach``.
    """
    frames = np.lib.stride_tricks.sliding_window_view(sound, bands.window.size)
    tapered = frames[centres - bands.reach]
    tapered *= bands.window
    spectra = rfft(tapered, bands.length, axis=1, overwrite_x=True)[:, : bands.stop]
    power = spectra.real**2
    power += spectra.imag**2
    energies: Energies = np.add.reduceat(power, bands.starts, axis=1)
    return energies
