"""What taps on the beats tell, and how far they lie from the beats: a bias, and a lag.

People tap ahead of what they hear by some 40 ms (Bååth & Madison 2012), and when the tempo changes
they go on for a beat in the old one.  The bias is found by sliding all taps over the onset curve
together, with what people do as a prior.  The lag is found after a first solution: the taps'
distances from the solved beats are laid as a line over the change of the interval, and taken out.
Smoothing taps instead makes expressive playing worse.
"""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.notate.beats.marks import TAP_FLOOR, Mark

TAP_SD_S = 0.05
CHANGE_SHARE = 0.3
BIAS_REACH_S, BIAS_STEP_S, NEAREST_SHARE = 0.16, 0.005, 0.25
AHEAD_S, AHEAD_SD_S = 0.035, 0.05
CURVE_SD_S = 0.02
FEWEST_FOR_LAG = 12
TRIMMED_S = 0.15
FEWEST_TO_NUMBER = 4
SLIP_SHARE, GAP_SHARE, NEAR_GAPS = 1 / 3, 1.75, 3

Floats = NDArray[np.float64]


def numbered_taps(taps_s: Sequence[float]) -> tuple[tuple[int, float], ...]:
    """Return (beat from 0, second) of taps meant for one beat after the other.

    A gap of two or more of the intervals around it counts as beats left out; a tap that comes
    within a third of an interval after another is a slip of the finger and is left out itself.
    """
    times = np.sort(np.asarray(taps_s, dtype=np.float64))
    if times.size < FEWEST_TO_NUMBER:
        return tuple(enumerate(times.tolist()))
    usual = float(np.median(np.diff(times)))
    kept = [float(times[0])]
    kept += [late for early, late in pairwise(times.tolist()) if late - early > usual * SLIP_SHARE]
    gaps = np.diff(kept)
    numbered, beat = [(0, kept[0])], 0
    for place, gap in enumerate(gaps.tolist()):
        near = float(np.median(gaps[max(0, place - NEAR_GAPS) : place + NEAR_GAPS + 1]))
        beat += max(1, round(gap / near)) if gap > GAP_SHARE * near else 1
        numbered.append((beat, kept[place + 1]))
    return tuple(numbered)


def agreeing(
    taps: Sequence[tuple[int, float]], anchors: Sequence[tuple[int, float]]
) -> list[tuple[int, float]]:
    """Return ``taps`` (beat, second) counted so that they agree with marks made by ear.

    A mark wins.  Where it stands beats away from the tap at its second, the count of the taps had
    slipped before it, and goes on from the mark.  Taps on a marked beat, or on the wrong side of
    one, are left out.
    """
    counted = list(taps)
    for beat, second in sorted(anchors):
        if counted and counted[0][1] <= second <= counted[-1][1]:
            beats, times = zip(*counted, strict=True)
            slip = round(beat - float(np.interp(second, times, beats)))
            near = second - 0.5 * float(np.median(np.diff(times))) if len(times) > 1 else second
            counted = [(each + slip * (time > near), time) for each, time in counted]
    return [
        (beat, time)
        for beat, time in counted
        if all((beat - other) * (time - second) > 0 for other, second in anchors)
    ]


def tap_bias(taps_s: Sequence[float], onsets: Floats, frames_a_second: int) -> float:
    """Return how many seconds the taps lie after the onsets they mean (negative: ahead).

    It is looked for within a quarter of a beat of what people do: beyond that the off-beats are
    nearer, and where these are struck harder many taps would outvote what people do.  (Of 24
    held-out steady accompanists, seeds 9000 to 9023 of ``tests.simulate.performances``, one was mapped
    half a beat away in every bar before this.)
    """
    beat_s = float(np.median(np.diff(taps_s))) if len(taps_s) > 1 else math.inf
    reach_s = min(BIAS_REACH_S, NEAREST_SHARE * beat_s)
    shifts = np.arange(AHEAD_S - reach_s, AHEAD_S + reach_s + 1e-9, BIAS_STEP_S)
    reach = np.arange(-3 * CURVE_SD_S, 3 * CURVE_SD_S + 1e-9, 1 / frames_a_second)
    kernel = np.exp(-0.5 * (reach / CURVE_SD_S) ** 2)
    smooth = np.convolve(onsets, kernel / kernel.sum(), "same")
    frames = np.arange(onsets.size) / frames_a_second
    moved = np.asarray(taps_s)[:, None] + shifts[None, :]
    found = np.log(0.1 + np.interp(moved, frames, smooth)).sum(axis=0)
    prior = -0.5 * ((shifts - AHEAD_S) / AHEAD_SD_S) ** 2
    return -_highest_top(shifts, found + prior)


def _highest_top(shifts: Floats, worth: Floats) -> float:
    """Return the shift of the highest peak of ``worth``; without one, what people do.

    A slope that still rises at the edge belongs to the off-beat beyond it.
    """
    inner = worth[1:-1]
    tops = np.flatnonzero((inner >= worth[:-2]) & (inner >= worth[2:])) + 1
    return float(shifts[tops[np.argmax(worth[tops])]]) if tops.size else AHEAD_S


def tap_marks(taps: Sequence[tuple[int, float]]) -> tuple[Mark, ...]:
    """Return the marks that ``taps`` (beat, second), less their bias, are.

    A tap where the tempo changes is believed less: its spread grows by .3 of the change.
    """
    beats = np.array([beat for beat, _ in taps])
    times = np.array([time for _, time in taps])
    changes = np.abs(interval_changes(beats, times))
    spreads = TAP_SD_S + CHANGE_SHARE * changes
    return tuple(
        Mark(int(beat), float(time), float(sd), TAP_FLOOR)
        for beat, time, sd in zip(beats, times, spreads, strict=True)
    )


def interval_changes(beats: NDArray[np.int64], times: Floats) -> Floats:
    """Return at each tap by how much the beat's interval differs from the one before, in seconds."""
    if len(times) < 3:  # noqa: PLR2004  (two intervals need three taps)
        return np.zeros(len(times))
    paces = np.diff(times) / np.diff(beats)
    inner = np.diff(paces)
    return np.concatenate(([0.0], inner, [0.0]))


def unlagged(marks: Sequence[Mark], solved_s: Floats) -> tuple[Mark, ...]:
    """Return tap ``marks`` less what they lie from ``solved_s`` on the whole and after changes."""
    if len(marks) < FEWEST_FOR_LAG:
        return tuple(marks)
    beats = np.array([mark.beat for mark in marks])
    times = np.array([mark.time_s for mark in marks])
    away = times - solved_s[beats]
    before = np.maximum(beats - 1, 0)
    paces = solved_s[beats] - solved_s[before]
    change = np.diff(paces, prepend=paces[0])
    change[:2] = 0.0
    used = np.abs(away) < TRIMMED_S
    table = np.stack((np.ones(len(marks)), change), axis=1)
    line, *_ = np.linalg.lstsq(table[used], away[used], rcond=None)
    line[1] = np.clip(line[1], -1.0, 1.0)
    lags = table @ line
    return tuple(
        replace(mark, time_s=max(mark.time_s - float(lag), 0.0))
        for mark, lag in zip(marks, lags, strict=True)
    )
