"""Sounds made as loud at every frequency: what noise is left counts alike wherever it lies.

What is left of a recording is loud below and soft above, as noise in a room is.  Then weights that
are told by its power do not see a clap for the rumble, and a few steps of least squares mend the
loudest frequencies first and leave the soft ones.  A prediction filter of what is left (Makhoul
1975) makes it even: track and recording are compared behind that filter.
The filter is causal and so is its inverse, so
what is solved behind it goes back exactly.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft
from scipy.linalg import solve_toeplitz
from scipy.signal import lfilter

from rhythmtrain.hearing.bleed.correlation import Sound

ORDER = 24
NOISE = 1e-4
TINY = 1e-12

Filter = NDArray[np.float64]
FLAT: Filter = np.ones(1)


def whitener(left: Sound, weights: Sound) -> Filter:
    """Return the filter, its first coefficient 1, behind which ``left``, shape (n,), is even.

    ``weights``, shape (n,), say how much each sample counts.
    """
    counted = left * np.sqrt(weights)
    size = next_fast_len(len(counted) + ORDER + 1, real=True)
    alike = irfft(np.square(np.abs(rfft(counted, size))), size)[: ORDER + 1].astype(np.float64)
    alike[0] = alike[0] * (1 + NOISE) + TINY
    return np.concatenate([[1.0], -solve_toeplitz(alike[:ORDER], alike[1:])])


def whitened(sound: Sound, white: Filter) -> Sound:
    """Return ``sound`` behind the filter, along its last axis."""
    filtered: Sound = lfilter(white, [1.0], sound, axis=-1).astype(np.float32)
    return filtered


def coloured(sound: Sound, white: Filter) -> Sound:
    """Return the sound that ``whitened`` makes of ``sound``, undone."""
    undone: Sound = lfilter([1.0], white, sound, axis=-1).astype(np.float32)
    return undone
