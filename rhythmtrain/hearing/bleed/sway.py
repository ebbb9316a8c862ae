"""A microphone that moves: how much later, moment by moment, the loudspeaker is heard.

A microphone in the hand sways by a centimetre or two, and every sound comes some hundredths of a
millisecond early or late.  Against a prediction of the bleed each eighth of a second tells how late
it is (one Gauss-Newton step, as in ``skew``); a chain of springs from each to the next makes a
smooth line of these, however little some of them tell.  The line is believed only where every
other third of an octave tells the same as the rest of the spectrum.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded

from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.bleed.loudspeaker import every_other_third
from rhythmtrain.hearing.bleed.skew import read_at

STEP_S = 0.125
# From one eighth of a second to the next: half a metre a second is a quick hand.
RESTLESS_S = 1e-5
FARTHEST_S = 0.0002
LEAST_AGREED = 0.5
LEAST_SWAY_S = 2e-6
TINY = 1e-30

Line = NDArray[np.float64]


def sways(heard: Sound, predicted: Sound, weights: Sound, rate: int) -> bool:
    """Return whether ``heard`` is now earlier, now later than ``predicted``, all shape (n,)."""
    halves = []
    for odd in (False, True):
        part, expected = (every_other_third(each, rate, odd=odd) for each in (heard, predicted))
        halves.append(_line(part, expected, weights, rate))
    one, other = (each - each.mean() for each in halves)
    larger = max(float(one @ one), float(other @ other))
    moved_s = float(np.sqrt(larger / len(one)))
    return moved_s > LEAST_SWAY_S and float(one @ other) > LEAST_AGREED * larger


def lateness(heard: Sound, predicted: Sound, weights: Sound, rate: int) -> Sound:
    """Return how much later ``heard`` is than ``predicted`` at each sample, in samples, shape (n,)."""
    line = _line(heard, predicted, weights, rate)
    at = np.arange(len(heard)) / (STEP_S * rate) - 0.5
    late: Sound = (rate * np.interp(at, np.arange(len(line)), line)).astype(np.float32)
    return late


def later(sound: Sound, late: Sound) -> Sound:
    """Return ``sound`` as much later, sample by sample, as ``late`` says (in samples)."""
    return read_at(sound, np.arange(len(sound), dtype=np.float64) - late)


def _line(heard: Sound, predicted: Sound, weights: Sound, rate: int) -> Line:
    """Return the smooth line of lateness, in seconds, one value for each step."""
    slope, left = np.gradient(predicted), heard - predicted
    step = round(STEP_S * rate)
    count = max(len(heard) // step, 1)
    firsts = np.arange(count) * step
    against = np.add.reduceat(-weights * left * slope, firsts, dtype=np.float64)
    force = np.add.reduceat(weights * slope**2, firsts, dtype=np.float64)
    told_s = np.clip(against / np.maximum(force, TINY) / rate, -FARTHEST_S, FARTHEST_S)
    noise = float(np.median(np.add.reduceat(weights * left**2, firsts, dtype=np.float64)) / step)
    sure = force * rate**2 / max(noise, TINY)
    spring = 1 / RESTLESS_S**2
    bands = np.full((2, count), -spring)
    bands[1] = sure + 2 * spring + 1 / FARTHEST_S**2
    bands[1, [0, -1]] -= spring
    line: Line = solveh_banded(bands, sure * told_s)
    return line
