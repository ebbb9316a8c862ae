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
    worth = WORTH_READING * ceiling
    peak = max((true_peak(each, beside=BESIDE) for each in _loud(blocks, worth)), default=0.0)
    return min(1.0, ceiling / max(peak, ceiling))


def true_peak(samples: Block, *, beside: int = 0) -> float:
    """Return the largest magnitude of ``samples``, shape ``(n, channels)``, drawn as a curve.

    The first and last ``beside`` samples only help to draw what lies between them.
    """
    padded = np.pad(samples.astype(np.float64), ((BESIDE, BESIDE), (0, 0)))
    spectrum = np.fft.rfft(padded, axis=0)
    drawn = np.fft.irfft(spectrum, len(padded) * OVERSAMPLING, axis=0) * OVERSAMPLING
    edge = (BESIDE + beside) * OVERSAMPLING if beside else 0
    return float(np.abs(drawn[edge : len(drawn) - edge]).max(initial=0.0))


def _loud(blocks: Iterable[Block], worth: float) -> Iterator[Block]:
    """Yield the windows, ``BESIDE`` more on each side, in which a sample is ``worth`` or more."""
    for samples in _joined(blocks):
        if _largest(samples) < worth:
            continue
        for start in range(0, len(samples) - 2 * BESIDE, WINDOW):
            window = samples[start : start + WINDOW + 2 * BESIDE]
            if _largest(window) >= worth:
                yield window


def _largest(samples: Block) -> float:
    return float(max(samples.max(), -samples.min()))


def _joined(blocks: Iterable[Block]) -> Iterator[Block]:
    """Yield each block behind the end of the one before it; silence stands at both ends."""
    silence: Block | None = None
    kept: Block | None = None
    for block in blocks:
        if silence is None or kept is None:
            silence = kept = np.zeros((2 * BESIDE, block.shape[1]), dtype=np.float32)
        joined = np.concatenate((kept, block))
        yield joined
        kept = joined[-2 * BESIDE :]
    if silence is not None and kept is not None:
        yield np.concatenate((kept, silence))
