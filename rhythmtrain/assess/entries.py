"""Entries: whether the player came in where it is written, and if not, by what count.

Whoever miscounts a rest comes in a beat or a bar out, or on the beat instead of after it, and the
notes that follow come so too; whoever only hesitates plays one late note.  So the whole phrase
after the rest is asked: for every shift s of the phrase the claps have a likelihood, each note
being either heard within the spread of honest players or missed, each clap too many costing
something.  With a prior for the counts that people get wrong, the posterior over {right, half a
beat, whole beats, whole bars, other} is a sum over s; the class is told when it passes 0.9, and
else the count is said to have drifted.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.tolerance import spread_s

Floats = NDArray[np.float64]

SURE = 0.90
# Of shifts (beats), and of claps (seconds).
GRID_BEATS, GRID_S = 0.01, 0.010
HALF_BEAT = 0.5
NEAR_BEATS = 0.35
NEAR_CLASS_BEATS = 0.20
MISS = 0.10
WIDE, WIDE_SHARE = 2.2, 0.3
CLOSE_SPREADS = 3
EXTRA_LOG = 2.0
MOST_BARS_OUT = 2
MOST_NOTES, PHRASE_CLAPS = 12, 3
PRIOR_RIGHT = 0.75
PRIOR_OTHER = 0.05
PRIOR_BEATS: dict[float, float] = {0.5: 0.020, 1.0: 0.040, 1.5: 0.002, 2.0: 0.010, 3.0: 0.004}
PRIOR_BAR: dict[int, float] = {1: 0.030, 2: 0.010}
PRIOR_CUE = 0.060
COMMON_BEATS = 0.08


@dataclass(frozen=True, slots=True)
class Came:
    """How a phrase came in: shifted by ``beats`` (0: as written; None: the count drifted).

    ``late_beats`` is by how many beats the phrase is shifted, ``sure`` the posterior of the class;
    with ``heard`` False nothing was played near it.
    """

    beats: float | None
    late_beats: float
    sure: float
    heard: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Phrase:
    """What the player was to play after a rest, the entry first.

    ``at`` are its places in beats, from anywhere; ``pace`` gives the second of each place in beats;
    ``bar`` is the length of a bar in beats.  ``least_s`` is by how much it may come early at most,
    as far as the rest leaves room (negative).  ``unsure_s`` is the standard error of its time, and
    ``elsewhere`` are other places, in beats from the entry, that look like the entry's: where the
    accompanist plays the same cue.
    """

    at: Floats
    pace: Callable[[Floats], Floats]
    bar: float
    least_s: float = -np.inf
    unsure_s: float = 0.0
    elsewhere: tuple[float, ...] = ()

    @property
    def beat_s(self) -> float:
        """Return how long the beat lasts on which the phrase begins."""
        here, following = self.pace(self.at[0] + np.array([0.0, 1.0]))
        return float(following - here)

    @property
    def least(self) -> float:
        """Return ``least_s`` in beats, as far as is asked about at all."""
        asked = np.arange(-self.most, GRID_BEATS, GRID_BEATS)
        room = self.pace(self.at[0] + asked) - self.pace(self.at[:1]) >= self.least_s
        return float(asked[int(np.argmax(room))]) if room.any() else 0.0

    @property
    def most(self) -> float:
        """Return how many beats it may come early or late at most, to be asked about."""
        far = max((abs(beats) for beats in self.elsewhere), default=0.0)
        return max(MOST_BARS_OUT * self.bar, far) + HALF_BEAT


def came_in(phrase: Phrase, played_s: Floats) -> Came:
    """Return how ``phrase`` came in; ``played_s`` are the claps that may belong to it.

    The player's habit is to be taken out of the claps.
    """
    asked = phrase.at[:MOST_NOTES]
    classes = _classes(phrase)
    shifts = _asked_about(phrase, classes)
    aims = phrase.pace(asked[None, :] + shifts[:, None])
    beat_s = phrase.beat_s
    near = played_s[(played_s >= aims[0, 0] - beat_s) & (played_s <= aims[-1, -1])]
    lone = len(near) < min(len(asked), PHRASE_CLAPS)
    reach = phrase.bar + HALF_BEAT if lone else phrase.most
    if not _within(near, phrase, reach):
        return Came(None, 0.0, 1.0, heard=False)
    spread = float(spread_s(beat_s))
    likely = _likelihood(aims, near, spread=spread, whole=len(asked) == len(phrase.at))
    unsure = np.hypot(spread, phrase.unsure_s) / beat_s
    return _told(shifts, likely, classes, float(np.hypot(COMMON_BEATS, unsure)))


def _told(shifts: Floats, likely: Floats, classes: dict[float, float], common: float) -> Came:
    """Return the class of the greatest posterior, if that is sure enough.

    ``shifts`` are in beats, ``likely`` their log likelihoods, ``common`` the spread of a class.
    """
    weight = np.exp(likely - float(likely.max()))
    mass = {
        beats: prior * float(np.sum(weight * _bell(shifts - beats, common)))
        for beats, prior in classes.items()
    }
    between = _from_nearest(shifts, classes) > NEAR_CLASS_BEATS
    other = PRIOR_OTHER * float(np.sum(weight[between])) / (len(shifts) * GRID_BEATS)
    total = sum(mass.values()) + other
    best = max(mass, key=lambda beats: mass[beats])
    sure = mass[best] / total
    middle = float(shifts[int(np.argmax(likely + np.log(_blend(shifts, classes, common))))])
    if sure >= SURE or (best == 0 and abs(middle) < NEAR_BEATS):
        return Came(best, middle, sure)
    return Came(None, middle, sure)


def _asked_about(phrase: Phrase, classes: dict[float, float]) -> Floats:
    """Return the shifts to ask about, in beats: all near the entry, and those near far classes."""
    usual = MOST_BARS_OUT * phrase.bar + HALF_BEAT
    grid = np.arange(phrase.least, phrase.most + GRID_BEATS, GRID_BEATS)
    places = np.array(list(classes))
    far = np.min(np.abs(grid[:, None] - places[None, :]), axis=1) <= HALF_BEAT
    return np.asarray(grid[(np.abs(grid) <= usual + GRID_BEATS) | far])


def _within(near: Floats, phrase: Phrase, reach: float) -> bool:
    """Return True when a clap came within ``reach`` beats of the entry."""
    early, late = phrase.pace(phrase.at[0] + np.array([-reach, reach]))
    return bool(np.any((near >= early) & (near <= late)))


def _likelihood(aims: Floats, near: Floats, *, spread: float, whole: bool) -> Floats:
    """Return the log likelihood of the claps under every shift; ``aims`` are (shifts, notes).

    Claps that stand for no note cost something; those after the last note do only where
    ``whole`` says that the phrase ends there.
    """
    after = np.clip(np.searchsorted(near, aims), 0, len(near) - 1)
    before = np.maximum(after - 1, 0)
    away = np.minimum(np.abs(near[after] - aims), np.abs(near[before] - aims))
    near_it = (1 - WIDE_SHARE) * _bell(away, spread) + WIDE_SHARE * _bell(away, WIDE * spread)
    heard = (1 - MISS) * near_it * GRID_S
    floor = MISS * GRID_S
    fits = np.sum(np.log(heard + floor), axis=1)
    used = np.sum(away < CLOSE_SPREADS * spread, axis=1)
    last = len(near) if whole else np.searchsorted(near, aims[:, -1] + CLOSE_SPREADS * spread)
    extra = np.maximum(last - used, 0)
    return np.asarray(fits - EXTRA_LOG * extra, dtype=np.float64)


def _classes(phrase: Phrase) -> dict[float, float]:
    """Return the prior of every class, keyed by its shift in beats."""
    prior = {0.0: PRIOR_RIGHT}
    for table, unit in ((PRIOR_BEATS, 1.0), (PRIOR_BAR, phrase.bar)):
        for count, share in table.items():
            for side in (-1, 1):
                key = side * count * unit
                prior[key] = max(prior.get(key, 0.0), share)
    for beats in phrase.elsewhere:
        prior[beats] = max(prior.get(beats, 0.0), PRIOR_CUE)
    return prior


def _from_nearest(shifts: Floats, classes: dict[float, float]) -> Floats:
    """Return how far each shift lies from the nearest class, in beats."""
    places = np.array(list(classes))
    return np.asarray(np.min(np.abs(shifts[:, None] - places[None, :]), axis=1))


def _blend(shifts: Floats, classes: dict[float, float], common: float) -> Floats:
    """Return the prior density of every shift."""
    density = np.full(len(shifts), PRIOR_OTHER / (len(shifts) * GRID_BEATS))
    for beats, prior in classes.items():
        density += prior * _bell(shifts - beats, common)
    return density


def _bell(away: Floats, spread: float) -> Floats:
    return np.asarray(
        np.exp(-0.5 * (away / spread) ** 2) / (spread * np.sqrt(2 * np.pi)), dtype=np.float64
    )
