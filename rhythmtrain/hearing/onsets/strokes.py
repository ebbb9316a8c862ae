"""What a candidate sounds like: a picture of 0.2 s in six bands, and what it says of a stroke.

A stroke of hands rises within a few milliseconds in all bands together and is gone some tens of
milliseconds later.  A counting voice rises more slowly, stays, and leaves the upper bands free
except in its consonants; a breath comes slowly; a foot stays below.  A clap that falls into a
spoken word is judged by the bands that the word leaves free, as a listener glimpses one sound
through another (Cooke 2006, "A glimpsing model of speech perception in noise"): a band in which
more sounded before than the stroke added is *covered*.

The steepest moment is looked for up to 30 ms either side of a candidate, because a word often
begins a little before the clap on the same beat: once above 1 kHz, once below it, where alone soft
hands are heard; what is loud there counts.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.level import Mono

EDGES_HZ = (150, 400, 1000, 2000, 4000, 8000, 14000)
BANDS = len(EDGES_HZ) - 1
UPPER = 2
BEFORE_MS, AFTER_MS, REACH_MS = 50, 160, 30
WINDOW_S, STEP_S = 0.004, 0.001
LONGEST_S = 0.1
QUIET = 1e-12
STEEPEST_DB = 30.0
SAME_MS = 3

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """What may be a stroke of the player's, in dB for each band, shape (6,).

    A sine at full scale is at 0 dB in its band.

    Attributes:
        moved_s: When it is steepest, after the candidate's own time.
        gain_db: Energy added within 7 ms.
        before_db: Energy just before.
        fall_db: By how much it has fallen 25 to 40 ms later,
        later_db: and 60 to 90 ms later.
        under_db: By how much, over all bands, the loudest moment from 50 ms before to 160 ms after
            is louder; about 2 for a stroke that stands alone.
    """

    moved_s: float
    gain_db: Array
    before_db: Array
    fall_db: Array
    later_db: Array
    under_db: float


def strokes_near(sound: Mono, place: int, rate: int) -> tuple[Stroke, ...]:
    """Return what may be strokes near sample ``place`` of ``sound``: where it is steepest, and there.

    The steepest moment above 1 kHz comes first.  Outside ``sound`` is silence.
    """
    energy = _picture(sound, place, rate)
    total = np.cumsum(np.pad(energy, ((0, 0), (1, 0))), axis=1)
    loudest = float(energy.sum(axis=0).max())
    found: list[int] = []
    for at in (_steepest(total, slice(UPPER, None)), 0, _steepest(total, slice(0, UPPER))):
        if all(abs(at - other) >= SAME_MS for other in found):
            found.append(at)
    return tuple(_stroke(total, at, loudest) for at in found)


def _steepest(total: Array, bands: slice) -> int:
    """Return the steepest moment of ``bands``, in milliseconds after the candidate."""
    near = np.arange(BEFORE_MS - REACH_MS, BEFORE_MS + REACH_MS)
    after = (total[bands, near + 5] - total[bands, near + 1]) / 4
    before = (total[bands, near - 2] - total[bands, near - 7]) / 5
    steep = np.clip(10 * np.log10(after / before), 0, STEEPEST_DB).mean(axis=0)
    loud = 10 * np.log10(np.maximum(after - before, QUIET).sum(axis=0))
    return int(np.argmax(steep + loud)) - REACH_MS


def _stroke(total: Array, at: int, loudest: float) -> Stroke:
    """Return the stroke ``at`` milliseconds after the candidate."""
    here = at + BEFORE_MS

    def mean(low: int, high: int) -> Array:
        part: Array = (total[:, here + high] - total[:, here + low]) / (high - low)
        return part

    after, before = mean(1, 7), mean(-9, -2)
    added = np.maximum(after - before, QUIET)
    return Stroke(
        at * STEP_S,
        10 * np.log10(added),
        10 * np.log10(before),
        10 * np.log10(after / mean(25, 40)),
        10 * np.log10(after / mean(60, 90)),
        float(10 * np.log10(loudest / added.sum())),
    )


def _picture(sound: Mono, place: int, rate: int) -> Array:
    """Return energies, shape (6, milliseconds), from 50 ms before ``place`` to 160 ms after."""
    step, half = round(STEP_S * rate), round(0.5 * WINDOW_S * rate)
    count = BEFORE_MS + AFTER_MS
    first = place - BEFORE_MS * step - half
    size = (count - 1) * step + 2 * half
    low, high = max(0, first), min(sound.size, first + size)
    part = np.zeros(size)
    part[low - first : max(low, high) - first] = sound[low : max(low, high)]
    frames = np.lib.stride_tricks.sliding_window_view(part, 2 * half)[::step]
    window = np.hanning(2 * half)
    spectra = np.fft.rfft(frames * (2 * window / window.sum()), axis=1)
    power = spectra.real**2 + spectra.imag**2
    bins = np.rint(np.array(EDGES_HZ) * 2 * half / rate).astype(int)
    sums = [power[:, min(a, half) : max(b, a + 1)].sum(axis=1) for a, b in pairwise(bins)]
    return np.array(sums) + QUIET
