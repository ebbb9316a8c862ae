"""Two clocks: the track laid along the recording's, and what is left between them measured finely.

A loudspeaker and a microphone on different quartzes drift apart by up to some hundred millionths.
``warped`` reads the track where the recording's clock says (a windowed sinc of 32 samples, its
phases in a table of 1024: the error lies 60 dB down).  Once the room is known too, the recording
can be compared with what was predicted of it: how far each second of it lies from the prediction
is told by one Gauss-Newton step against the prediction's slope, a hundred times finer than by the
track alone, and a straight line through these steps mends delay and skew.
"""

from functools import cache

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.bleed.correlation import Real, Sound
from rhythmtrain.hearing.bleed.delay_lines import robust_line

REACH = 16
PHASES = 1024
SLICE = 1 << 16
STEP_S = 0.5
FARTHEST = 1.5


def warped(
    track: Sound, frames: tuple[int, int], rate: int, *, delay_s: float, skew_ppm: float
) -> Sound:
    """Return ``track`` as the recording's clock has it at ``frames`` (first, stop) of the recording.

    Frame ``f`` holds the track at ``(f / rate - delay_s) / (1 + skew)`` seconds; silence outside.
    """
    first, stop = frames
    sound = np.empty(stop - first, np.float32)
    slope = 1 / (1 + skew_ppm * 1e-6)
    for start in range(first, stop, SLICE):
        count = min(SLICE, stop - start)
        places = (start + np.arange(count) - delay_s * rate) * slope
        sound[start - first : start - first + count] = read_at(track, places)
    return sound


def read_at(sound: Sound, places: Real) -> Sound:
    """Return ``sound`` at fractional ``places`` that do not lie far apart; silence outside."""
    first = int(np.floor(places.min())) - REACH
    length = int(np.ceil(places.max())) + REACH + 2 - first
    piece = np.zeros(length, np.float32)
    low, high = max(first, 0), min(first + length, len(sound))
    if low < high:
        piece[low - first : high - first] = sound[low:high]
    return _read(piece, places - first)


def _read(piece: Sound, places: Real) -> Sound:
    """Return ``piece`` at fractional ``places``, each at least REACH from both ends."""
    nearest = np.rint(places * PHASES).astype(np.int64)
    whole, phase = np.divmod(nearest, PHASES)
    rows = np.lib.stride_tricks.sliding_window_view(piece, 2 * REACH)[whole - REACH + 1]
    read: Sound = np.einsum("ij,ij->i", rows, _phases()[phase])
    return read


@cache
def _phases() -> NDArray[np.float32]:
    """Return the sinc's 32 taps at each phase, shape (PHASES, 32), under a raised cosine squared."""
    part = np.arange(PHASES)[:, None] / PHASES
    away = part - np.arange(-REACH + 1, REACH + 1)[None, :]
    taper = np.cos(np.pi * away / (2 * (REACH + 1))) ** 2
    table: NDArray[np.float32] = (np.sinc(away) * taper).astype(np.float32)
    return table


def drift_left(
    heard: Sound, predicted: Sound, weights: Sound, rate: int
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return how much later ``heard`` is than ``predicted``: (seconds at frame 0, slope), errors.

    All have shape (n,); ``weights`` are larger where the recording is more to be trusted.
    """
    slope = np.gradient(predicted)
    left = heard - predicted
    step = round(STEP_S * rate)
    count = len(heard) // step
    used = count * step
    against = (weights * left * slope)[:used].reshape(count, step).sum(axis=1, dtype=np.float64)
    force = (weights * slope**2)[:used].reshape(count, step).sum(axis=1, dtype=np.float64)
    steps = -against / np.maximum(force, 1e-30)
    sure = np.where(np.abs(steps) < FARTHEST, force, 0.0)
    middles_s = (np.arange(count) + 0.5) * step / rate
    return robust_line(middles_s, steps / rate, sure)
