"""The loudest moment of a track, and the one factor that keeps it below the ceiling.

Between two samples the curve that a loudspeaker draws can rise above both: the *true peak*, read
on four times as many samples (ITU-R BS.1770, annex 2).  A track is mixed twice: once to find its
true peak, once to be kept.  Where the peak would pass -1 dBTP (EBU R 128) the whole track is made
softer by one factor.  No limiter moves or bends anything, and in ordinary tracks the factor is 1,
so that levels are the documented ones.
"""

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

OVERSAMPLING = 4
CEILING_DBTP = -1.0
# Room for the rounding to 16 bits, and for what another interpolation filter than ours reads.
MARGIN_DB = 0.2
WINDOW = 4096
BESIDE = 128
# A window whose samples all lie below this share of the ceiling is not read more finely: its true
# peak would have to lie 6 dB above them, which only noise close to half the sample rate can do.
WORTH_READING = 0.5

Block = NDArray[np.float32]


def ceiling_gain(blocks: Iterable[Block]) -> float:
    """Return the one factor, at most 1, that keeps ``blocks`` at -1 dBTP or below."""
    ceiling = float(10 ** ((CEILING_DBTP - MARGIN_DB) / 20))
    peak = max((_peak(samples, ceiling) for samples in _joined(blocks)), default=0.0)
    return min(1.0, ceiling / max(peak, ceiling))


def true_peak(samples: Block) -> float:
    """Return the largest magnitude of ``samples``, shape ``(n, channels)``, drawn as a curve."""
    padded = np.pad(samples.astype(np.float64), ((BESIDE, BESIDE), (0, 0)))
    spectrum = np.fft.rfft(padded, axis=0)
    drawn = np.fft.irfft(spectrum, len(padded) * OVERSAMPLING, axis=0) * OVERSAMPLING
    return float(np.abs(drawn).max(initial=0.0))


def _peak(samples: Block, ceiling: float) -> float:
    """Return the true peak of ``samples``, or 0 where it cannot reach the ceiling."""
    if max(samples.max(initial=0.0), -samples.min(initial=0.0)) < WORTH_READING * ceiling:
        return 0.0
    if len(samples) > WINDOW + 2 * BESIDE:
        return max(_peak(window, ceiling) for window in _windows(samples))
    return true_peak(samples)


def _joined(blocks: Iterable[Block]) -> Iterator[Block]:
    """Yield each block with the end of the one before it, so that no place between is missed."""
    kept: Block | None = None
    for block in blocks:
        yield block if kept is None else np.concatenate((kept, block))
        kept = block[-2 * BESIDE :]


def _windows(samples: Block) -> Iterator[Block]:
    """Yield ``samples`` in windows that overlap by ``BESIDE`` samples on each side."""
    for start in range(0, len(samples), WINDOW):
        yield samples[max(start - BESIDE, 0) : start + WINDOW + BESIDE]
