"""Expressive time as a straight line plus an integrated random walk, and what it leaves over.

Played freely, note i sounds at

    t_i = a + b·x_i + w(u_i) + e_i

x is written time in seconds, u the same place in written units (a quarter; a third of a compound
beat), w an integrated random walk whose slope has a spread of b·s for every √unit, and e the
unsteadiness of a single note: 25 ms and 4 % of the shorter neighbouring interval together.  A
player may so slow down or hurry on as he likes, but not within one figure by much.

With Q the precision of that model after a and b have been taken out, everything needed of it are
products d'Qy.  A Kalman filter with a free beginning turns any vector into independent parts of
unit variance (its innovations), linearly, so d'Qy is the plain product of two filtered vectors and
costs one pass.  (Durbin & Koopman 2012, chapters 4 to 6; s and the noise by restricted maximum
likelihood.)
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

TEMPO_SPREAD = 0.15
TEMPO_SPREADS = (0.05, 0.075, 0.1, 0.125, 0.15)
NOISE_SCALES = (0.5, 0.7, 1.0)
NOTE_NOISE_S = 0.025
NOTE_NOISE_SHARE = 0.04
# Where the beginning may be (seconds) and how fast (times the mean): as good as anything.
FREE_PLACE, FREE_TEMPO = 1e4, 10.0
FREE_OBSERVATIONS = 2
# Median of a squared standard normal value.
MEDIAN_SQUARE = 0.4549
# A squared standard normal value is cut here; and what its mean then is.
CUT_SQUARE, MEAN_CUT_SQUARE = 6.25, 0.979


@dataclass(frozen=True, slots=True)
class Row:
    """The matched notes of a take, in order: five arrays of one length.

    ``written_s`` is written time, ``units`` the place in written units, ``played_s`` when each
    was played, ``free_s`` how far time may jump by itself before each note (0 nearly everywhere;
    at a pause sign as long as one likes), ``looseness`` how many times as freely the tempo may
    change on the way to each note (1 nearly everywhere; more where a passage ends).
    """

    written_s: Floats
    units: Floats
    played_s: Floats
    free_s: Floats
    looseness: Floats

    def __len__(self) -> int:
        """Return how many notes there are."""
        return len(self.written_s)

    @property
    def stretch(self) -> float:
        """Return played over written duration: the least-squares slope, free jumps closed up."""
        free = self.free_s > 0
        written = np.diff(self.written_s, prepend=self.written_s[0])
        heard = np.diff(self.played_s, prepend=self.played_s[0])
        bound = float(written[~free].sum())
        usual = float(heard[~free].sum()) / bound if bound else 1.0
        closed = np.cumsum(np.where(free, usual * written, heard))
        centred = self.written_s - self.written_s.mean()
        size = float(centred @ centred)
        return float(centred @ closed) / size if size else 1.0


@dataclass(frozen=True, slots=True)
class Filter:
    """The gains of the walk for one row of notes: what turns a vector into independent parts."""

    steps_s: Floats
    place_gain: Floats
    tempo_gain: Floats
    scale: Floats

    def apply(self, values: Floats) -> Floats:
        """Return the innovations of ``values``, shape (n,), each divided by its spread."""
        out = np.empty(len(values))
        place = tempo = 0.0
        rows = zip(
            values.tolist(),
            self.steps_s.tolist(),
            self.place_gain.tolist(),
            self.tempo_gain.tolist(),
            strict=True,
        )
        for index, (value, step, gain, slope) in enumerate(rows):
            place += tempo * step
            left = value - place
            out[index] = left
            place += gain * left
            tempo += slope * left
        scaled: Floats = out / self.scale
        return scaled


@dataclass(frozen=True, slots=True)
class Manner:
    """How freely (``tempo_spread``, per √unit) and how evenly (``noise_scale``) someone plays."""

    tempo_spread: float = TEMPO_SPREAD
    noise_scale: float = 1.0


def note_noise(row: Row) -> Floats:
    """Return the expected unsteadiness of each note in seconds, shape (n,)."""
    gaps = np.diff(row.written_s) * row.stretch
    shorter = np.minimum(np.append(gaps, np.inf), np.insert(gaps, 0, np.inf))
    noise: Floats = np.hypot(NOTE_NOISE_S, NOTE_NOISE_SHARE * shorter)
    return noise


def filter_for(row: Row, manner: Manner, noise_s: Floats | None = None) -> Filter:
    """Return the filter of ``row`` for a player of this ``manner``.

    ``noise_s`` is the unsteadiness of each note, shape (n,), where it is not that of free playing.
    """
    steps = np.diff(row.written_s, prepend=row.written_s[0])
    spans = np.diff(row.units, prepend=row.units[0])
    walk = (manner.tempo_spread * row.stretch * row.looseness) ** 2 * spans
    noise = (manner.noise_scale * (note_noise(row) if noise_s is None else noise_s)) ** 2
    rows = zip(steps.tolist(), walk.tolist(), noise.tolist(), row.free_s.tolist(), strict=True)
    found = []
    place, both, tempo = FREE_PLACE**2, 0.0, (FREE_TEMPO * row.stretch) ** 2
    for step, moved, error, jump in rows:
        place += step * (2 * both + step * (tempo + moved / 3)) + jump * jump
        both += step * (tempo + moved / 2)
        tempo += moved
        total = place + error
        gain, slope = place / total, both / total
        found.append((gain, slope, math.sqrt(total)))
        tempo -= slope * both
        both -= gain * both
        place -= gain * place
    gains = np.array(found)
    return Filter(steps, gains[:, 0].copy(), gains[:, 1].copy(), gains[:, 2].copy())


def fit(row: Row) -> Manner:
    """Return the manner in which ``row`` was played, by restricted maximum likelihood.

    The choice is capped on both sides: left free, a mistake would explain itself as freedom.
    """
    best, least = Manner(), math.inf
    for spread in TEMPO_SPREADS:
        for scale in NOISE_SCALES:
            manner = Manner(spread, scale)
            gains = filter_for(row, manner)
            left = gains.apply(row.played_s)[FREE_OBSERVATIONS:]
            cost = float(left @ left + 2 * np.log(gains.scale[FREE_OBSERVATIONS:]).sum())
            if cost < least:
                best, least = manner, cost
    return best


def roughness(parts: Floats) -> float:
    """Return the squared scale of the independent ``parts`` against 1, robustly, never below 1.

    It is what a noisy player is allowed: limits of evidence are multiplied by it.  The mean of
    the squares, cut at two and a half spreads (from their median), counts as far as it lies
    above what chance makes of so few notes.
    """
    squares = parts[FREE_OBSERVATIONS:] ** 2
    if not len(squares):
        return 1.0
    scale = float(np.median(squares)) / MEDIAN_SQUARE
    mean = float(np.minimum(squares, CUT_SQUARE * scale).mean()) / MEAN_CUT_SQUARE
    return max(1.0, mean / (1 + math.sqrt(2 / len(squares))))


def without(row: Row, shape_s: Floats) -> Row:
    """Return ``row`` as it would have been played without ``shape_s`` seconds of displacement."""
    return replace(row, played_s=row.played_s - shape_s)
