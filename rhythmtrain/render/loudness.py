"""Loudness: how loud a steady sound is to the ear (ITU-R BS.1770-4).

The spectrum is weighted by two filters, a shelf that stands for the head and a high-pass for the
ear's deafness to low notes; the mean power that is left, in decibels less 0.691, is the loudness
in LUFS.  Powers of the two channels add, so a sound heard in both is 3 dB louder than in one.

The sounds measured here are single words and tones, too short for the standard's 0.4 s windows
and gates: their loudness is that of the sound going on without a gap.  The filters are the
standard's own second-order sections at 48 kHz, read as frequency responses, so that they hold at
any sample rate.
"""

import numpy as np
from numpy.typing import NDArray

OFFSET_DB = -0.691
STANDARD_RATE = 48_000
# (numerator, denominator) of each section, BS.1770-4 tables 1 and 2.
SHELF = (
    (1.53512485958697, -2.69169618940638, 1.19839281085285),
    (1.0, -1.69065929318241, 0.73248077421585),
)
HIGH_PASS = ((1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621))

Floats = NDArray[np.float64]


def ear_weight(hertz: Floats) -> Floats:
    """Return the share of the power at each frequency that counts (1 is all of it)."""
    below = np.minimum(hertz, STANDARD_RATE / 2)
    delay = np.exp(-2j * np.pi * below / STANDARD_RATE)
    weight = np.ones(np.shape(hertz))
    for above, under in (SHELF, HIGH_PASS):
        response = np.polyval(above[::-1], delay) / np.polyval(under[::-1], delay)
        weight *= np.abs(response) ** 2
    return weight


def loudness(sound: NDArray[np.float32], rate: int) -> float:
    """Return the loudness in LUFS of mono ``sound`` heard in both channels; -inf for silence."""
    samples = np.asarray(sound, dtype=np.float64)
    padded = np.pad(samples, (0, len(samples)))
    power = np.abs(np.fft.rfft(padded)) ** 2
    power[1:-1] *= 2
    hertz = np.asarray(np.fft.rfftfreq(len(padded), 1 / rate), dtype=np.float64)
    heard = float((power * ear_weight(hertz)).sum()) / len(padded) / max(len(samples), 1)
    return lufs(2 * heard)


def lufs(weighted_power: float) -> float:
    """Return the loudness of a weighted mean power summed over the channels."""
    return OFFSET_DB + 10 * float(np.log10(weighted_power)) if weighted_power > 0 else -np.inf
