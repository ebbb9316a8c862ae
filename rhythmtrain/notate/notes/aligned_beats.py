"""Beats between the chords of notes laid on a recording, and how sure each of them is.

A beat on which a chord stands has the chord's second, any other lies between the chords around it.
What speaks against it: that its chord had to be moved far and may be its neighbour, that no chord is
near, that the tempo jumps there, that the chord begins weakly.
"""

import numpy as np

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats.decoding import SolvedBeat
from rhythmtrain.notate.notes.alignment import AlignedNotes, Floats

PLACE_SD_S, BETWEEN_SHARE = 0.010, 0.1
USUAL_MOVE_S = 0.05
# The chance that a beat is wrong: seconds its chord was moved, seconds to the nearest chord, how the
# tempo jumps there, how weakly it begins.  A logistic law, fitted on development seeds 100 to 129; of
# the least sure fifth it holds 96 of 100 wrong beats there, each half of the seeds told by the other.
WRONG_BASE, WRONG_WEIGHTS = -6.5, (6.2, 7.2, 8.8, 5.7)
MOST_SIGNS = (0.3, 0.5, 1.0, 1.0)
WRONG_S = 0.15
SHORTEST_BEAT_S, FEWEST_FOR_TEMPO = 0.02, 3


def aligned_beats(aligned: AlignedNotes, quarters: Floats) -> tuple[SolvedBeat, ...]:
    """Return the beats at ``quarters``: on their chord, else between the chords around.

    Raises:
        RequestError: beats before the first or after the last chord, of which nothing is known.
    """
    if quarters.min() < aligned.quarters[0] or quarters.max() > aligned.quarters[-1]:
        raise RequestError("beats before the first note or after the last cannot be placed")
    seconds = np.interp(quarters, aligned.quarters, aligned.seconds)
    strength = np.interp(quarters, aligned.quarters, aligned.strength)
    nearest = np.abs(quarters[:, None] - aligned.quarters[None, :]).argmin(axis=1)
    away_s = np.abs(seconds - aligned.seconds[nearest])
    moved_s = np.interp(quarters, aligned.quarters, aligned.moved_s)
    spread = np.hypot(PLACE_SD_S / np.clip(strength, 0.15, 1.0), BETWEEN_SHARE * away_s)
    spread = np.hypot(spread, np.maximum(moved_s - USUAL_MOVE_S, 0.0))
    chance = 1 - _wrong(np.stack((moved_s, away_s, _unevenness(seconds), 1 - strength)))
    spread = np.hypot(spread, WRONG_S * (1 - chance))
    rows = zip(seconds.tolist(), spread.tolist(), chance.tolist(), strict=True)
    return tuple(SolvedBeat(*row) for row in rows)


def _wrong(signs: Floats) -> Floats:
    """Return the chance that a beat is more than 70 ms out, from its ``signs``, shape (4, n)."""
    capped = np.minimum(signs, np.array(MOST_SIGNS)[:, None])
    logit = WRONG_BASE + np.array(WRONG_WEIGHTS) @ capped
    wrong: Floats = 1 / (1 + np.exp(-logit))
    return wrong


def _unevenness(seconds: Floats) -> Floats:
    """Return at each beat how much the interval after it differs from that before (log ratio)."""
    if seconds.size < FEWEST_FOR_TEMPO:
        return np.zeros(seconds.size)
    intervals = np.maximum(np.diff(seconds), SHORTEST_BEAT_S)
    change = np.abs(np.diff(np.log(intervals)))
    return np.concatenate((change[:1], change, change[-1:]))
