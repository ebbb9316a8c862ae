"""Following beat and tempo through the onsets, for many readings at once.

A linear Gaussian model (a Kalman filter: Kalman 1960).  The state is the second at which the next
beat falls and the seconds a quarter lasts; a note of a figure falls at beat + place x tempo, give or
take the player's spread; from beat to beat the tempo may wander a little.  So a constant lag cannot
matter, and a slow drift is followed.  Several tries of the same passage have a beat and tempo each.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import log

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.notate.rhythm.figures import Figure

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

# A reading marks a beat before which the time stops by this much more in its row.
PAUSED = 1000
PAUSE_LOG_CHANCE = log(0.0005)
PAUSE_MEAN_S, PAUSE_SD_S = 1.5, 2.0
START_SD_S = 3.0
LOG_TWO_PI = log(2 * np.pi)


@dataclass(frozen=True, slots=True)
class Timing:
    """What is expected of the player.

    ``quarter_s`` is how long a quarter lasts, ``quarter_sd`` the relative standard error of that;
    ``spread_s`` the standard deviation of one onset, ``wander`` that of the tempo from one quarter to
    the next, relative.
    """

    quarter_s: float
    quarter_sd: float
    spread_s: float
    wander: float


@dataclass(frozen=True, slots=True)
class WrittenBeat:
    """A beat that may come: its length in quarters, the figures that can begin on it.

    Beats of one ``kind`` have the same figures in the same order.
    """

    length: Fraction
    figures: tuple[Figure, ...]
    opens_bar: bool
    kind: int = 0


@dataclass(frozen=True, slots=True)
class Front:
    """Hypotheses at one beat: B of them for R tries.

    ``used`` (B,) is how many onsets they explain; ``state`` (B, R, 2) beat and tempo, ``spread``
    (B, 3) the variances and covariance of those, ``wander`` (B,) how much the tempo may wander from
    here on, and ``rows`` (B, K) the figures so far.
    """

    used: Ints
    weight: Floats
    state: Floats
    spread: Floats
    wander: Floats
    rows: Ints

    def taken(self, chosen: Ints) -> "Front":
        """Return some of the hypotheses."""
        return Front(
            self.used[chosen],
            self.weight[chosen],
            self.state[chosen],
            self.spread[chosen],
            self.wander[chosen],
            self.rows[chosen],
        )


def begun(onsets: Floats, timing: Timing) -> Front:
    """Return the one hypothesis before anything is read: the beat is about the first onset."""
    tries = onsets.shape[0]
    state = np.stack([onsets[:, 0], np.full(tries, timing.quarter_s)], axis=1)
    spread = np.array([[START_SD_S**2, 0.0, (timing.quarter_s * timing.quarter_sd) ** 2]])
    return Front(
        np.zeros(1, dtype=np.intp),
        np.zeros(1),
        state[np.newaxis],
        spread,
        np.array([timing.wander]),
        np.zeros((1, 0), dtype=np.intp),
    )


def after_pause(front: Front, timing: Timing) -> Front:
    """Return ``front`` after a pause of unknown length, and at the first tempo again."""
    state = front.state.copy()
    state[..., 0] += PAUSE_MEAN_S
    state[..., 1] = timing.quarter_s
    spread = np.zeros_like(front.spread)
    spread[:, 0] = PAUSE_SD_S**2
    spread[:, 2] = (timing.quarter_s * timing.quarter_sd) ** 2
    rows = front.rows.copy()
    rows[:, -1] += PAUSED
    weight = front.weight + PAUSE_LOG_CHANCE
    return replace(front, weight=weight, state=state, spread=spread, rows=rows)


def joined(fronts: Sequence[Front]) -> Front:
    """Return all the hypotheses of ``fronts``."""
    return Front(
        np.concatenate([front.used for front in fronts]),
        np.concatenate([front.weight for front in fronts]),
        np.concatenate([front.state for front in fronts]),
        np.concatenate([front.spread for front in fronts]),
        np.concatenate([front.wander for front in fronts]),
        np.concatenate([front.rows for front in fronts]),
    )


def ahead(front: Front, onsets: Floats) -> Floats:
    """Return how far ahead of the beat the next onset of every try is, shape (B, R)."""
    ahead: Floats = onsets[:, front.used].T - front.state[..., 0]
    return ahead


def explained(front: Front, at: Floats, onsets: Floats, spread_s: float) -> Front:
    """Return ``front`` after its next onsets fell on the places ``at``, shape (B, notes)."""
    used, state, spread, weight = front.used, front.state, front.spread.T, front.weight
    for index in range(at.shape[1]):
        place = at[:, index]
        off: Floats = (
            onsets[:, used + index].T - state[..., 0] - place[:, np.newaxis] * state[..., 1]
        )
        towards_beat = spread[0] + place * spread[1]
        towards_tempo = spread[1] + place * spread[2]
        variance = towards_beat + place * towards_tempo + spread_s**2
        gain_beat, gain_tempo = towards_beat / variance, towards_tempo / variance
        state = state + off[..., np.newaxis] * np.stack([gain_beat, gain_tempo], -1)[:, np.newaxis]
        weight = weight - 0.5 * np.sum(
            off**2 / variance[:, np.newaxis] + np.log(variance)[:, np.newaxis] + LOG_TWO_PI, axis=1
        )
        spread = np.stack(
            [
                spread[0] - gain_beat * towards_beat,
                spread[1] - gain_beat * towards_tempo,
                spread[2] - gain_tempo * towards_tempo,
            ]
        )
    return replace(front, used=used + at.shape[1], weight=weight, state=state, spread=spread.T)


def moved(front: Front, length: float, span: int, timing: Timing) -> Front:
    """Return ``front`` carried on by ``length`` quarters."""
    state, spread = front.state.copy(), front.spread.copy()
    state[..., 0] += length * state[..., 1]
    spread[:, 0] += 2 * length * spread[:, 1] + length**2 * spread[:, 2]
    spread[:, 1] += length * spread[:, 2]
    spread[:, 2] += length * (front.wander * timing.quarter_s) ** 2
    rows = front.rows
    if span > 1:
        rows = np.concatenate([rows, np.full((len(rows), span - 1), -1, dtype=np.intp)], axis=1)
    return replace(front, state=state, spread=spread, rows=rows)


def weigh(
    tries: Sequence[Floats],
    beats: Sequence[WrittenBeat],
    rows: Ints,
    timing: Timing,
    pauses: Sequence[int] = (),
) -> Floats:
    """Return the log density of the onsets under each of ``rows``, the figures not counted.

    ``rows`` (B, K) are readings as in ``Reading.figures`` that have equally many notes on each beat;
    ``pauses`` are the beats before which the time stops.
    """
    onsets = np.stack([np.asarray(each, dtype=np.float64) for each in tries])
    front = begun(onsets, timing)
    front = front.taken(np.zeros(len(rows), dtype=np.intp))
    for index in range(rows.shape[1]):
        beat = beats[index]
        if index in pauses:
            blank = np.zeros((len(rows), 1), dtype=np.intp)
            front = replace(after_pause(replace(front, rows=blank), timing), weight=front.weight)
        if rows[0, index] >= 0:
            at = [[float(place) for place in beat.figures[row].at] for row in rows[:, index]]
            places = np.array(at).reshape(len(rows), -1)
            front = explained(front, places, onsets, timing.spread_s)
        front = moved(front, float(beat.length), 1, timing)
    return front.weight
