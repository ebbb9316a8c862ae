"""Two pictures of a whole recording: one fine in time, one fine in pitch.

``bands`` hold the energy in logarithmic bands twelve to the octave, in windows of 46 ms every
10 ms: they show when something begins.  ``pitches`` hold the energy around every semitone from
55 Hz, in windows of 186 ms every 20 ms: they show what sounds.  Frame ``k`` is centred at
``round(k * hop * rate)``, computed from the absolute frame number, so the frame rate is exact for
an hour (a hop of whole samples that is only nearly 10 ms drifts by 0.2 %).

The recording comes in blocks; five minutes of pictures take 17 MB.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import next_fast_len, rfft

from rhythmtrain.errors import TakeError
from rhythmtrain.hearing.onsets.level import Mono, check_audible, checked_rate

BAND_HOP_S, BAND_WINDOW_S = 0.010, 0.046
PITCH_HOP_S, PITCH_WINDOW_S = 0.020, 0.186
BANDS_AN_OCTAVE = 12
LOWEST_HZ, HIGHEST_HZ = 40.0, 10_000.0
LOWEST_PITCH, HIGHEST_PITCH = 33, 104
HIGHEST_SHARE = 0.45
LONGEST_S = 6 * 3600.0
BATCH = 256

Energies = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Spectra:
    """Energies ``bands`` (frames, bands) every 10 ms and ``pitches`` (frames, 72) every 20 ms.

    ``edges_hz`` are the lower edges of the bands; ``peak`` is the largest magnitude of a sample.
    """

    bands: Energies
    pitches: Energies
    edges_hz: NDArray[np.float64]
    duration_s: float
    peak: float


class SpectraFinder:
    """Hears a recording block by block; ``finish`` gives its spectra."""

    def __init__(self, rate: float) -> None:
        """Listen at ``rate`` samples a second, at least 8000, else RequestError."""
        self._rate = checked_rate(rate)
        self._bands = _Framed(self._rate, BAND_HOP_S, BAND_WINDOW_S)
        self._pitches = _Framed(self._rate, PITCH_HOP_S, PITCH_WINDOW_S)
        self._band_edges = _band_edges(self._rate, self._bands.length)
        self._pitch_edges = _pitch_edges(self._rate, self._pitches.length)
        self._found: tuple[list[Energies], list[Energies]] = ([], [])
        self._count = 0
        self._lowest, self._highest = np.inf, -np.inf

    def feed(self, block: Mono) -> None:
        """Hear the next ``block``, shape (n,), of any length.

        Raises:
            TakeError: samples that are not finite, or a recording longer than six hours.
        """
        if not block.size:
            return
        low, high = float(block.min()), float(block.max())
        if not np.isfinite([low, high]).all():
            raise TakeError("the recording is damaged: a sample is not a number; export it again")
        self._lowest, self._highest = min(self._lowest, low), max(self._highest, high)
        self._count += block.size
        if self._count > LONGEST_S * self._rate:
            raise TakeError(
                f"longer than {LONGEST_S / 3600:g} hours: cut out the part to be mapped"
            )
        self._take(block)

    def finish(self) -> Spectra:
        """Return the spectra of all that was heard.

        Raises:
            TakeError: an empty or a silent recording.
        """
        check_audible(self._lowest, self._highest, self._count)
        self._take(np.zeros(int(PITCH_WINDOW_S * self._rate), np.float32))
        bands, pitches = (np.concatenate(found) for found in self._found)
        duration_s = self._count / self._rate
        edges = self._band_edges[:-1] * self._rate / self._bands.length
        return Spectra(
            bands[: int(duration_s / BAND_HOP_S) + 1],
            pitches[: int(duration_s / PITCH_HOP_S) + 1],
            edges,
            duration_s,
            max(-self._lowest, self._highest),
        )

    def _take(self, block: Mono) -> None:
        for power in self._bands.feed(block):
            self._found[0].append(_summed(power, self._band_edges))
        for power in self._pitches.feed(block):
            self._found[1].append(_summed(power, self._pitch_edges))


class _Framed:
    """Cuts a stream into tapered frames at exact centres and gives their power spectra."""

    def __init__(self, rate: int, hop_s: float, window_s: float) -> None:
        self._hop = hop_s * rate
        self._half = round(0.5 * window_s * rate)
        size = 2 * self._half
        hann = 0.5 - 0.5 * np.cos(2 * np.pi * (np.arange(size) + 0.5) / size)
        self._window = (hann / np.sqrt(np.sum(hann**2))).astype(np.float32)
        self.length = next_fast_len(4 * size if hop_s == PITCH_HOP_S else 2 * size, real=True)
        self._sound = np.zeros(self._half, np.float32)
        self._origin = -self._half
        self._next = 0

    def feed(self, block: Mono) -> "list[NDArray[np.float32]]":
        """Return the power spectra of the frames that ``block`` completes, in batches."""
        self._sound = np.concatenate((self._sound, block.astype(np.float32, copy=False)))
        end = self._origin + self._sound.size - self._half
        last = int(np.floor((end + 0.49) / self._hop))
        spectra = []
        while self._next <= last:
            stop = min(self._next + BATCH, last + 1)
            centres = np.rint(np.arange(self._next, stop) * self._hop).astype(np.int64)
            spectra.append(self._power(centres))
            self._next = stop
        drop = int(np.rint(self._next * self._hop)) - self._half - self._origin
        if drop > 0:
            self._sound = self._sound[drop:]
            self._origin += drop
        return spectra

    def _power(self, centres: NDArray[np.int64]) -> NDArray[np.float32]:
        frames = np.lib.stride_tricks.sliding_window_view(self._sound, self._window.size)
        tapered = frames[centres - self._half - self._origin] * self._window
        spectrum = rfft(tapered, self.length, axis=1, overwrite_x=True)
        power: NDArray[np.float32] = (spectrum.real**2 + spectrum.imag**2).astype(np.float32)
        return power


def _summed(power: NDArray[np.float32], edges: NDArray[np.int64]) -> Energies:
    """Return the mean power between neighbouring ``edges``, shape (frames, bands)."""
    summed = np.add.reduceat(power[:, : edges[-1]], edges[:-1], axis=1)
    mean: Energies = (summed / np.diff(edges)).astype(np.float32)
    return mean


def _band_edges(rate: int, length: int) -> NDArray[np.int64]:
    highest = min(HIGHEST_HZ, HIGHEST_SHARE * rate)
    octaves = np.log2(highest / LOWEST_HZ)
    hertz = LOWEST_HZ * 2 ** np.linspace(0, octaves, round(octaves * BANDS_AN_OCTAVE) + 1)
    return np.unique(np.maximum(1, np.rint(hertz * length / rate)).astype(np.int64))


def _pitch_edges(rate: int, length: int) -> NDArray[np.int64]:
    # 104 is 3.3 kHz: also at 8000 samples a second there are bins for it.
    pitches = np.arange(LOWEST_PITCH, HIGHEST_PITCH + 2) - 0.5
    return np.rint(440 * 2 ** ((pitches - 69) / 12) * length / rate).astype(np.int64)
