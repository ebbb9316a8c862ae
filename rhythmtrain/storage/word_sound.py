"""The shape of one spoken word: cut to what is heard, brought to one level, at one rate.

The supplied words and a teacher's own recordings go through the same steps, so that both can stand
in one count.  Level means the root mean square of the sounding parts, not the peak: a word with a
hard consonant would otherwise be said more softly than one without.
"""

import math

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float64]

LEVEL_DB = -20.0  # root mean square of the sounding parts; full scale is 0
PEAK_DB = -1.0
SILENCE_BELOW_PEAK_DB = -40.0
SOUNDING_BELOW_LOUDEST_DB = -15.0
FADE_IN_S = 0.002
FADE_OUT_S = 0.008
PIECE_S = 0.01


def trimmed(sound: Sound, rate: int) -> Sound:
    """Return ``sound`` without the parts at its ends that lie 40 dB below its peak, faded.

    ``sound`` is mono, shape ``(n,)``, and not silent.
    """
    heard = np.flatnonzero(np.abs(sound) > _ratio(SILENCE_BELOW_PEAK_DB) * np.abs(sound).max())
    first = max(int(heard[0]) - round(FADE_IN_S * rate), 0)
    return faded(sound[first : int(heard[-1]) + round(FADE_OUT_S * rate)], rate)


def faded(sound: Sound, rate: int, *, fade_out_s: float = FADE_OUT_S) -> Sound:
    """Return ``sound`` with a rise of 2 ms at its start and a raised-cosine fall at its end."""
    rise = np.linspace(0.0, 1.0, min(round(FADE_IN_S * rate), len(sound)))
    fall = 0.5 + 0.5 * np.cos(np.linspace(0.0, np.pi, min(round(fade_out_s * rate), len(sound))))
    result = sound.copy()
    result[: len(rise)] *= rise
    result[len(sound) - len(fall) :] *= fall
    return result


def levelled(sound: Sound, rate: int) -> Sound:
    """Return ``sound`` with its sounding parts at ``LEVEL_DB``, no peak above ``PEAK_DB``."""
    gain = _ratio(LEVEL_DB) / sounding_level(sound, rate)
    return sound * min(gain, _ratio(PEAK_DB) / float(np.abs(sound).max()))


def sounding_level(sound: Sound, rate: int) -> float:
    """Return the root mean square of the 10 ms pieces within 15 dB of the loudest one."""
    piece = max(round(PIECE_S * rate), 1)
    pieces = np.pad(sound, (0, -len(sound) % piece)).reshape(-1, piece)
    power = (pieces**2).mean(axis=1)
    loud = power >= power.max() * 10 ** (SOUNDING_BELOW_LOUDEST_DB / 10)
    return float(np.sqrt(power[loud].mean()))


def resampled(sound: Sound, from_rate: int, to_rate: int) -> Sound:
    """Return ``sound`` at another rate; its first sample keeps its place in time.

    The spectrum of the sound is cut or extended, which is exact for what both rates can carry.
    Silence on both sides keeps the end from running into the start; its length makes the ratio of
    samples exact, so nothing shifts.
    """
    if from_rate == to_rate:
        return sound
    shared = math.gcd(from_rate, to_rate)
    up, down = to_rate // shared, from_rate // shared
    blocks = -(-len(sound) // down) + 2 * math.ceil(PIECE_S * from_rate / down)
    spectrum = np.fft.rfft(sound, blocks * down)
    longer = np.fft.irfft(spectrum[: blocks * up // 2 + 1], blocks * up) * up / down
    return longer[: math.ceil(len(sound) * up / down)]


def _ratio(decibels: float) -> float:
    return float(10 ** (decibels / 20))
