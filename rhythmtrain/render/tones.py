"""The tones of a track: a plain warm voice for the tune, a plucked one for the cue.

A tone is a short row of harmonics under one envelope.  The tune's are mostly odd, as a clarinet's
are (Fletcher and Rossing 1998, *The Physics of Musical Instruments*, ch. 15); it rises softly over
12 ms and settles to three quarters.  The cue's fall off as 1/k², rise over 4 ms and die away, so
that the accompanist's notes cannot be taken for the tune's.  Both end in a raised-cosine fade
*inside* the written length, so a repeated note is heard as two.

Every pitch is brought to the same loudness by weighting its harmonics as the ear does
(``loudness``), for a tone of ``REFERENCE_S``; shorter and longer ones have the same attack.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.loudness import ear_weight, lufs
from rhythmtrain.render.mixer import Sound

CONCERT_A_HZ, CONCERT_A = 440.0, 69
REFERENCE_S = 0.5
HIGHEST_SHARE = 0.45  # of the sample rate: harmonics above are left out
SHORTEST_S = 0.05


@dataclass(frozen=True, slots=True)
class Timbre:
    """How a tone sounds: amplitudes of its harmonics from the first, and its envelope.

    It rises over ``rise_s``, goes from 1 to ``held`` with a time constant of ``decay_s``, and
    fades over ``fade_s`` before its end.
    """

    harmonics: tuple[float, ...]
    rise_s: float
    held: float
    decay_s: float
    fade_s: float


TUNE = Timbre((1.0, 0.04, 0.42, 0.05, 0.18, 0.03, 0.07), 0.012, 0.75, 0.15, 0.03)
CUE = Timbre(tuple(1 / k**2 for k in range(1, 7)), 0.004, 0.0, 0.45, 0.03)


def tone(timbre: Timbre, pitches: tuple[int, ...], length: int, rate: int) -> Sound:
    """Return a tone or chord of MIDI ``pitches``, mono, ``length`` samples, loudness 0 LUFS.

    That is its loudness in both channels if it lasted ``REFERENCE_S``; scale it down.  It
    begins and ends in silence.
    """
    sound = np.zeros(length)
    for pitch in pitches:
        sound += _harmonics(timbre, pitch, length, rate)
    sound *= _envelope(timbre, length, rate) * tone_gain(timbre, pitches, rate)
    return sound.astype(np.float32)


@cache
def tone_gain(timbre: Timbre, pitches: tuple[int, ...], rate: int) -> float:
    """Return what brings a tone or chord of ``REFERENCE_S`` to 0 LUFS in both channels.

    A pitch that the sample rate cannot carry stays silent.
    """
    partials = [part for pitch in pitches for part in _partials(timbre, pitch, rate)]
    hertz = np.array([each for each, _ in partials])
    amplitudes = np.array([each for _, each in partials])
    steady = float((amplitudes**2 / 2 * ear_weight(hertz)).sum())
    if not steady:
        return 0.0
    shape = float((_envelope(timbre, round(REFERENCE_S * rate), rate) ** 2).mean())
    return float(10 ** (-lufs(2 * steady * shape) / 20))


def sounding(length_s: float, rate: int) -> int:
    """Return how many samples a tone written ``length_s`` long sounds; never too short to hear."""
    return round(max(length_s, SHORTEST_S) * rate)


def _harmonics(timbre: Timbre, pitch: int, length: int, rate: int) -> NDArray[np.float64]:
    """Return the harmonics of ``pitch`` added up.

    Each comes from the two before it, sin((k+1)x) = 2 cos(x) sin(kx) - sin((k-1)x), which costs a
    fraction of a sine.
    """
    partials = _partials(timbre, pitch, rate)
    added = np.zeros(length)
    if not partials:
        return added
    angle = 2 * np.pi * partials[0][0] / rate * np.arange(length)
    before, here, turn = np.zeros(length), np.sin(angle), 2 * np.cos(angle)
    for _, amplitude in partials:
        added += amplitude * here
        before, here = here, turn * here - before
    return added


@cache
def _partials(timbre: Timbre, pitch: int, rate: int) -> tuple[tuple[float, float], ...]:
    """Return (Hz, amplitude) of the harmonics of ``pitch`` that the sample rate can carry."""
    first = CONCERT_A_HZ * 2 ** ((pitch - CONCERT_A) / 12)
    return tuple(
        (first * k, amplitude)
        for k, amplitude in enumerate(timbre.harmonics, 1)
        if first * k <= HIGHEST_SHARE * rate
    )


def _envelope(timbre: Timbre, length: int, rate: int) -> NDArray[np.float64]:
    n = np.arange(length)
    shape = timbre.held + (1 - timbre.held) * np.exp(-n / (timbre.decay_s * rate))
    rise = min(round(timbre.rise_s * rate), length // 3)
    fade = min(round(timbre.fade_s * rate), length // 2)
    shape[:rise] *= 0.5 - 0.5 * np.cos(np.pi * np.arange(rise) / rise)
    shape[length - fade :] *= 0.5 + 0.5 * np.cos(np.pi * np.arange(1, fade + 1) / fade)
    return shape
