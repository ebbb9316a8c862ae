"""How late a track is heard in a recording made while it played.

The whitened cross-correlation of the two, over 300 to 8000 Hz, peaks at the delay: every frequency
counts alike, so a room that rings and a loudspeaker that booms do not move the peak (Knapp and
Carter 1976, the phase transform).  The peak is believed only when it stands 9 times over the rms
of the rest; a track of clicks alone comes round too evenly, so words or tones belong in it.

The delay holds everything on the way: output, 2.9 ms of air a metre, input.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LOW_HZ, HIGH_HZ = 300.0, 8000.0
LEAST_PEAK = 9.0
LATEST_S = 1.0
LEAST_S = 1.0
LONGEST_S = 60.0
ERROR_S = 0.0005

Sound = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class SoundDelay:
    """A delay in seconds (positive: heard later), how sure, and how far its peak stood out."""

    delay_s: float
    error_s: float
    peak: float


def sound_delay(heard: Sound, track: Sound, rate: int) -> SoundDelay | None:
    """Return how late ``track``, shape (m,), is in ``heard``, shape (n,), or None when unsure.

    Both begin at the same frame.  Delays from 0 to one second are looked for, in the first minute.
    """
    length = min(len(heard), len(track), round(LONGEST_S * rate))
    if length < LEAST_S * rate:
        return None
    size = 1 << (2 * length - 1).bit_length()
    cross = np.fft.rfft(heard[:length], size) * np.conj(np.fft.rfft(track[:length], size))
    hertz = np.fft.rfftfreq(size, 1 / rate)
    strength = np.abs(cross)
    inside = (hertz >= LOW_HZ) & (hertz <= HIGH_HZ) & (strength > 0)
    if not inside.any():
        return None
    white = np.zeros_like(cross)
    white[inside] = cross[inside] / strength[inside]
    likeness = np.fft.irfft(white, size)[: round(LATEST_S * rate)]
    best = int(np.argmax(likeness))
    rms = float(np.sqrt(np.mean(likeness**2)))
    peak = float(likeness[best]) / rms if rms else 0.0
    if peak < LEAST_PEAK:
        return None
    return SoundDelay((best + _between(likeness, best)) / rate, ERROR_S, peak)


def _between(likeness: NDArray[np.float64], best: int) -> float:
    """Return how far the true peak lies from sample ``best``, by a parabola through three."""
    if not 0 < best < len(likeness) - 1:
        return 0.0
    before, at, after = (float(each) for each in likeness[best - 1 : best + 2])
    bend = before - 2 * at + after
    return 0.5 * (before - after) / bend if bend else 0.0
