"""Chord by chord: from a rough place to where that chord's own pitches begin.

How strongly a chord begins at a frame is the rise of the bands in which its first four partials
lie, raised where the semitones themselves rise too.  All chords are placed together (Viterbi): a
chord may move by up to 0.3 s, and pays for every change of its distance to the one before it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FRAMES_A_SECOND = 100
REACH = 30
WIDE = 60
PARTIALS = ((1, 1.0), (2, 0.7), (3, 0.5), (4, 0.4))
LOWEST_HZ = 150.0
SEMITONE_SHARE = 0.3
WORTH = 10.0
OWN_SD_S = 0.1
CHANGE_S, CHANGE_SHARE = 0.04, 0.06
LONGEST_GAP_S = 1.0
# The path of long windows runs ahead, and the rises of bands do so a little: measured on the
# development seeds of tests/simulate/performances.py.
PATH_AHEAD_S, RISE_AHEAD_S = 0.029, 0.007

Floats = NDArray[np.float64]
Frames = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Sounding:
    """What a recording shows of pitches.

    ``levels``, shape (n, pitches), are of the semitones from ``lowest`` up, 50 frames a second;
    ``rises``, shape (m, bands), of the bands whose lower edges are ``edges_hz``, 100 a second.
    """

    levels: Frames
    lowest: int
    rises: Frames
    edges_hz: Floats


def placed_chords(
    sounding: Sounding, chords: list[Floats], rough_s: Floats
) -> tuple[Floats, Floats]:
    """Return the seconds of ``chords`` (their pitches) near ``rough_s``, and their strengths."""
    base = np.rint((rough_s + PATH_AHEAD_S) * FRAMES_A_SECOND).astype(np.int64)
    strengths = np.stack(
        [_strength(sounding, pitches, place) for pitches, place in zip(chords, base, strict=True)]
    )
    found = _together(strengths, base, np.diff(rough_s))
    rows = np.arange(found.size)
    left, right = np.maximum(found - 1, 0), np.minimum(found + 1, 2 * REACH)
    low, top, high = strengths[rows, left], strengths[rows, found], strengths[rows, right]
    bend = low - 2 * top + high
    inner = (bend < 0) & (found > 0) & (found < 2 * REACH)
    shift = np.where(inner, 0.5 * (low - high) / np.where(inner, bend, 1.0), 0.0)
    frames = base + found - REACH + np.clip(shift, -0.5, 0.5)
    return frames / FRAMES_A_SECOND + RISE_AHEAD_S, np.clip(top, 0.0, 1.0)


def _strength(sounding: Sounding, pitches: Floats, place: int) -> Floats:
    """Return how strongly the chord begins within ±0.3 s of frame ``place``, shape (61,)."""
    frames = np.clip(place + np.arange(-WIDE, WIDE + 1), 0, len(sounding.rises) - 1)
    bands = sounding.rises[frames] @ _weights(pitches, sounding.edges_hz)
    bands = np.clip(bands / max(float(np.percentile(bands, 97)), 1e-6), 0, 1.5)
    semitones = _semitone_rise(sounding, pitches, frames / 2)
    whole: Floats = bands * (1 - SEMITONE_SHARE + SEMITONE_SHARE * semitones)
    return whole[WIDE - REACH : WIDE + REACH + 1]


def _weights(pitches: Floats, edges_hz: Floats) -> Floats:
    """Return how much each band counts for the chord: bands of its partials above 150 Hz."""
    weights = np.zeros(edges_hz.size)
    for pitch in pitches.tolist():
        for partial, weight in PARTIALS:
            hertz = 440 * 2 ** ((pitch - 69) / 12) * partial
            if hertz > LOWEST_HZ:
                weights[np.searchsorted(edges_hz, hertz, side="right") - 1] += weight
    return weights


def _semitone_rise(sounding: Sounding, pitches: Floats, at: Floats) -> Floats:
    """Return the rise of the chord's semitones at frames ``at`` (50 a second), at most 1."""
    columns = np.rint(pitches).astype(int) - sounding.lowest
    columns = columns[(columns >= 0) & (columns < sounding.levels.shape[1])]
    first = int(at[0])
    near = np.clip(np.arange(first - 1, int(at[-1]) + 3), 0, len(sounding.levels) - 1)
    levels = sounding.levels[near][:, columns]
    rise = np.maximum(0, levels[2:] - levels[:-2]).sum(axis=1)
    known: Floats = np.interp(at, first + np.arange(rise.size), rise)
    return known / max(float(known.max()), 1e-6)


def _together(strengths: Floats, base: NDArray[np.int64], gaps_s: Floats) -> NDArray[np.int64]:
    """Return the place of every chord within its row of ``strengths`` (Viterbi)."""
    moves = np.arange(-REACH, REACH + 1)
    own = WORTH * strengths - 0.5 * (moves / FRAMES_A_SECOND / OWN_SD_S) ** 2
    total = own[0]
    came = []
    for row in range(1, len(own)):
        gap = float(gaps_s[row - 1])
        steps = base[row] - base[row - 1] + moves[:, None] - moves[None, :]
        scale = CHANGE_S + CHANGE_SHARE * min(gap, LONGEST_GAP_S)
        paid = np.abs(steps / FRAMES_A_SECOND - gap) / scale
        choices = np.where(steps >= 1, total[None, :] - paid, -1e6)
        came.append(choices.argmax(axis=1))
        total = choices.max(axis=1) + own[row]
    places = [int(total.argmax())]
    for back in reversed(came):
        places.append(int(back[places[-1]]))
    return np.array(places[::-1], dtype=np.int64)
