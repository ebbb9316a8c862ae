"""From posteriors to seconds: the densest place, then the onset that stands there.

The seconds given are the mean within the densest ±50 ms of a beat's posterior.  When a strong
onset lies within 45 ms of it, the beat is there, to a fraction of a frame; strong is more than a
quarter of the highest onset of the second around.  Some beats have no onset: the posterior, which
knows the beats around, keeps its word there.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.notate.beats.lattice import Posterior

DENSE_S = 0.05
NEAR_S = 0.045
STRONG_SHARE = 0.25
LOCAL_S = 0.5
RIGHT_S = 0.07
SNAPPED_SD_S = 0.008
LEAST_GAP_S = 0.02

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SolvedBeat:
    """When a beat falls, the standard error of that, and the chance that it is within 70 ms."""

    time_s: float
    uncertainty_s: float
    chance: float


def onset_peaks(onsets: Floats, frames_a_second: int) -> tuple[Floats, Floats]:
    """Return times and heights of the peaks of ``onsets``, each by a parabola through three frames.

    Only peaks that are strong for the second around them are given.
    """
    inner = onsets[1:-1]
    tops = np.flatnonzero((inner > onsets[:-2]) & (inner >= onsets[2:])) + 1
    reach = round(LOCAL_S * frames_a_second)
    highest = np.array([onsets[max(0, top - reach) : top + reach + 1].max() for top in tops])
    tops = tops[onsets[tops] > STRONG_SHARE * highest] if tops.size else tops
    left, top, right = onsets[tops - 1], onsets[tops], onsets[tops + 1]
    shift = 0.5 * (left - right) / (left - 2 * top + right - 1e-12)
    return (tops + shift) / frames_a_second, top


def decode(posterior: Posterior, frame_s: float, peaks_s: Floats) -> SolvedBeat:
    """Return the beat that ``posterior``, in frames of ``frame_s`` seconds, tells of."""
    chance = posterior.chance
    times = (posterior.start + np.arange(chance.size)) * frame_s
    half = max(1, round(DENSE_S / frame_s))
    dense = _within(chance, half)
    best = int(np.argmax(dense))
    part = slice(max(0, best - half), best + half + 1)
    time = float(np.average(times[part], weights=chance[part]))
    sure = float(chance[np.abs(times - time) <= RIGHT_S].sum())
    spread = float(np.sqrt(np.average((times - time) ** 2, weights=chance)))
    snapped = _nearest(peaks_s, time)
    if snapped is not None:
        inside = np.sqrt(np.average((times[part] - time) ** 2, weights=chance[part]))
        spread = float(np.hypot(np.sqrt(max(spread**2 - inside**2, 0.0)), SNAPPED_SD_S))
        time = snapped
    return SolvedBeat(time, max(spread, SNAPPED_SD_S), min(sure, 1.0))


def going_forward(beats: list[SolvedBeat]) -> tuple[SolvedBeat, ...]:
    """Return ``beats`` with those moved that would fall on or before the one before them.

    Each posterior is read by itself; where two of them point at one onset, neither is sure.
    """
    kept: list[SolvedBeat] = []
    for beat in beats:
        if kept and beat.time_s < kept[-1].time_s + LEAST_GAP_S:
            moved = kept[-1].time_s + LEAST_GAP_S
            spread = max(beat.uncertainty_s, RIGHT_S)
            kept.append(SolvedBeat(moved, spread, min(beat.chance, 0.5)))
        else:
            kept.append(beat)
    return tuple(kept)


def _within(chance: Floats, half: int) -> Floats:
    sums = np.concatenate(([0.0], np.cumsum(chance)))
    centres = np.arange(chance.size)
    low, high = np.maximum(centres - half, 0), np.minimum(centres + half + 1, chance.size)
    within: Floats = sums[high] - sums[low]
    return within


def _nearest(peaks_s: Floats, time_s: float) -> float | None:
    place = int(np.searchsorted(peaks_s, time_s))
    near = peaks_s[max(0, place - 1) : place + 1]
    if near.size == 0:
        return None
    best = float(near[np.argmin(np.abs(near - time_s))])
    return best if abs(best - time_s) <= NEAR_S else None
