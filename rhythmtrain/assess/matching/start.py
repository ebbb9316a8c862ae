"""Where bar 1 may begin: the origins at which many claps would meet many notes.

The histogram of clap minus note over all pairs has a peak for every run through the passage.  It
is the correlation of two rows of impulses, so that it costs n log n by Fourier transform however
long the take is; a triangle of 60 ms to either side stands for the unsteadiness of a clap.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

HALF_WIDTH_S = 0.060
BESIDE = 3


def busiest_origins(played_s: Floats, written_s: Floats, step_s: float, most: int) -> Floats:
    """Return at most ``most`` origins on a grid of ``step_s``, in order, the busiest among them.

    ``played_s`` (n,) and ``written_s`` (m,) are seconds, in order.  Beside each peak its
    neighbours within three steps are returned too, because an origin may creep.
    """
    claps = np.rint((played_s - played_s[0]) / step_s).astype(np.intp)
    notes = np.rint((written_s - written_s[0]) / step_s).astype(np.intp)
    size = int(claps[-1] + notes[-1]) + 1
    span = 1 << (size - 1).bit_length()
    meetings = np.fft.irfft(
        np.fft.rfft(np.bincount(claps, minlength=span), span)
        * np.conj(np.fft.rfft(np.bincount(notes, minlength=span), span)),
        span,
    )
    width = max(round(HALF_WIDTH_S / step_s), 1)
    lags = np.arange(-int(notes[-1]), int(claps[-1]) + 1)
    count = np.convolve(meetings[lags], _triangle(width), mode="same")
    spread = 2 * BESIDE + 1
    peaks = np.argsort(-count, kind="stable")[: max(most // spread, 1)]
    around = np.unique((peaks[:, None] + np.arange(-BESIDE, BESIDE + 1)[None, :]).ravel())
    around = around[(around >= 0) & (around < len(lags))]
    return np.asarray(played_s[0] - written_s[0] + lags[around] * step_s, dtype=np.float64)


def _triangle(width: int) -> Floats:
    return np.asarray(1 - np.abs(np.arange(-width + 1, width)) / width, dtype=np.float64)
