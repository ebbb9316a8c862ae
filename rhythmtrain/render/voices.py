"""The strokes of a track: click, wood block and hand clap, each made from a formula.

A struck thing is a sum of partials that die away,

    s(n) = rise(n) · Σ a · exp(-n / decay) · cos(2π f n / rate),

brought to a peak of 1.  The rise goes in a straight line from its first step, and every partial
begins at its crest, so the very first sample is not 0: **a stroke's first sample is its place**,
also after rounding to 16 bits, and nothing sounds before it.  The end fades to exactly 0.

Partials 1, 2.76, 5.4 are those of a free bar (a wood block, roughly).  The click lies between 2.5
and 4 kHz, where a piano has little, and rises over 2 ms: the ear orders onsets to no better than
some 20 ms, so that costs nothing, while a click that rises over 2 ms or more is far easier to take
out of a microphone's signal than one that starts at once.  Nobody has to take the wood or the clap
out on a beat that has no click, and they rise over 0.5 ms.

The clap is noise through a resonance of cupped hands.  The noise is the fractional part of n²·√2,
evenly spread by Weyl's theorem (1916) and white to the ear: the same in every run and version.
"""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.mixer import Sound

SILENT_DB = -70.0
END_FADE_S = 0.002
HIGHEST_SHARE = 0.45  # of the sample rate: partials above are left out


@dataclass(frozen=True, slots=True)
class Bar:
    """A struck bar: partials as (Hz, amplitude, decay in seconds to 1/e), and the rise in seconds."""

    partials: tuple[tuple[float, float, float], ...]
    rise_s: float


DOWNBEAT = Bar(((3520.0, 1.0, 0.008), (2.76 * 3520.0, 0.15, 0.004)), 0.002)
BEAT = Bar(((2640.0, 1.0, 0.008), (2.76 * 2640.0, 0.15, 0.004)), 0.002)
BETWEEN = Bar(((2500.0, 1.0, 0.005),), 0.002)
WOOD = Bar(((820.0, 1.0, 0.018), (2.76 * 820.0, 0.6, 0.010), (5.4 * 820.0, 0.3, 0.005)), 0.0005)

CLAP_RISE_S = 0.0005
# Cupped hands: (resonance in Hz, amplitude, ringing in seconds).
CLAP_RESONANCES = ((1150.0, 1.0, 0.0016), (2300.0, 0.6, 0.0008))
# The slap, and the room of the hands after it: (amplitude, decay in seconds).
CLAP_DECAYS = ((1.0, 0.005), (0.2, 0.022))


@cache
def struck(bar: Bar, rate: int) -> Sound:
    """Return a stroke on ``bar``, mono, peak 1; its first sample is not 0 and is its place."""
    longest = max(decay for _, _, decay in bar.partials)
    n = np.arange(_length(longest, rate))
    sound = np.zeros(len(n))
    for hertz, amplitude, decay in bar.partials:
        if hertz <= HIGHEST_SHARE * rate:
            dying = amplitude * np.exp(-n / (decay * rate))
            sound += dying * np.cos(2 * np.pi * hertz * n / rate)
    return _finished(sound, bar.rise_s, rate)


@cache
def clapped(rate: int) -> Sound:
    """Return a hand clap, mono, peak 1; its first sample is not 0 and is its place."""
    longest = max(decay for _, decay in CLAP_DECAYS)
    n = np.arange(_length(longest, rate))
    noise = 2 * np.modf((n + 1.0) ** 2 * np.sqrt(2))[0] - 1
    ringing = np.zeros(len(n))
    for hertz, amplitude, decay in CLAP_RESONANCES:
        ringing += amplitude * np.exp(-n / (decay * rate)) * np.cos(2 * np.pi * hertz * n / rate)
    body = sum(part * np.exp(-n / (decay * rate)) for part, decay in CLAP_DECAYS)
    return _finished(np.convolve(noise, ringing)[: len(n)] * body, CLAP_RISE_S, rate)


def _length(decay_s: float, rate: int) -> int:
    """Return after how many samples something that dies away is 70 dB down."""
    return round(-SILENT_DB / 20 * math.log(10) * decay_s * rate)


def _finished(sound: NDArray[np.float64], rise_s: float, rate: int) -> Sound:
    """Return ``sound`` with its rise and its last fade, its peak brought to 1."""
    rise = max(round(rise_s * rate), 1)
    sound[:rise] *= np.arange(1, rise + 1) / rise
    fade = round(END_FADE_S * rate)
    sound[-fade:] *= np.linspace(1.0, 0.0, fade)
    finished: Sound = (sound / np.abs(sound).max()).astype(np.float32)
    finished.flags.writeable = False
    return finished
