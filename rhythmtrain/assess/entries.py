"""Entries: whether the player came in where it is written, and if not, by what count.

Whoever miscounts a rest comes in a beat or a bar out, or on the beat instead of after it, and the
notes that follow come so too; whoever only hesitates plays one late note.  So the whole phrase
after the rest is asked: for every shift s of the phrase the claps have a likelihood, each note
being either heard within the spread of honest players or missed, each clap too many costing
something.  With a prior for the counts that people get wrong, the posterior over {right, half a
beat, whole beats, whole bars, other} is a sum over s; the class is told when it passes 0.9, and
else the count is said to have drifted.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.tolerance import spread_s

Floats = NDArray[np.float64]

SURE = 0.90
GRID_S = 0.010
NEAR_BEATS = 0.35
NEAR_CLASS_BEATS = 0.20
MISS = 0.10
WIDE, WIDE_SHARE = 2.2, 0.3
EXACT = 1e-6
CLOSE_SPREADS = 3
EXTRA_LOG = 2.0
MOST_NOTES = 12
MOST_BARS_OUT = 2
PHRASE_CLAPS = 3
PRIOR_RIGHT = 0.75
PRIOR_OTHER = 0.05
PRIOR_BEATS: dict[float, float] = {0.5: 0.020, 1.0: 0.040, 1.5: 0.002, 2.0: 0.010, 3.0: 0.004}
PRIOR_BAR: dict[int, float] = {1: 0.030, 2: 0.010}
COMMON_SHARE = 0.08

NUMBERS = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Came:
    """How a phrase came in: shifted by ``beats`` (0: as written; None: the count drifted).

    ``shift_s`` is by how much the phrase is shifted, ``sure`` the posterior of the class; with
    ``heard`` False nothing was played near it.
    """

    beats: float | None
    shift_s: float
    sure: float
    heard: bool = True


def came_in(
    expected_s: Floats, played_s: Floats, *, beat_s: float, bar_s: float, least_s: float
) -> Came:
    """Return how the phrase written at ``expected_s`` came in, the entry first.

    ``played_s`` are the claps that may belong to it (habit removed), ``least_s`` the earliest
    shift that the rest before it leaves room for (negative).
    """
    reach = MOST_BARS_OUT * bar_s + beat_s / 2
    phrase = expected_s[:MOST_NOTES]
    low = max(-reach, least_s)
    near = played_s[(played_s >= phrase[0] + low - beat_s) & (played_s <= phrase[-1] + reach)]
    lone = len(near) < min(len(phrase), PHRASE_CLAPS)
    if not _within(near, phrase[0], bar_s + beat_s / 2 if lone else reach):
        return Came(None, 0.0, 1.0, heard=False)
    shifts = np.arange(low, reach + GRID_S, GRID_S)
    whole = len(phrase) == len(expected_s)
    likely = _likelihood(phrase, near, shifts, spread=float(spread_s(beat_s)), whole=whole)
    classes = _classes(beat_s, bar_s)
    common = np.hypot(COMMON_SHARE * beat_s, float(spread_s(beat_s)))
    peak = float(likely.max())
    weight = np.exp(likely - peak)
    mass = {
        beats: prior * float(np.sum(weight * _bell(shifts - beats * beat_s, common)))
        for beats, prior in classes.items()
    }
    between = _from_nearest(shifts, classes, beat_s) > NEAR_CLASS_BEATS * beat_s
    other = PRIOR_OTHER * float(np.sum(weight[between])) / (len(shifts) * GRID_S)
    total = sum(mass.values()) + other
    best = max(mass, key=lambda beats: mass[beats])
    sure = mass[best] / total
    middle = float(shifts[int(np.argmax(likely + np.log(_blend(shifts, classes, beat_s, common))))])
    if sure >= SURE or (best == 0 and abs(middle) < NEAR_BEATS * beat_s):
        return Came(best, middle, sure)
    return Came(None, middle, sure)


def _within(near: Floats, place_s: float, reach_s: float) -> bool:
    return bool(np.any(np.abs(near - place_s) <= reach_s))


def _likelihood(
    phrase: Floats, near: Floats, shifts: Floats, *, spread: float, whole: bool
) -> Floats:
    """Return the log likelihood of the claps under every shift of the phrase.

    Claps that stand for no note cost something; those after the last note do only where
    ``whole`` says that the phrase ends there.
    """
    aims = phrase[None, :] + shifts[:, None]
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


def _classes(beat_s: float, bar_s: float) -> dict[float, float]:
    """Return the prior of every class, keyed by its shift in beats."""
    beats_a_bar = bar_s / beat_s
    prior = {0.0: PRIOR_RIGHT}
    for table, unit in ((PRIOR_BEATS, 1.0), (PRIOR_BAR, beats_a_bar)):
        for count, share in table.items():
            for side in (-1, 1):
                key = side * count * unit
                prior[key] = max(prior.get(key, 0.0), share)
    return prior


def _from_nearest(shifts: Floats, classes: dict[float, float], beat_s: float) -> Floats:
    """Return how far each shift lies from the nearest class, in seconds."""
    places = np.array(list(classes)) * beat_s
    return np.asarray(np.min(np.abs(shifts[:, None] - places[None, :]), axis=1))


def _blend(shifts: Floats, classes: dict[float, float], beat_s: float, common: float) -> Floats:
    """Return the prior density of every shift."""
    density = np.full(len(shifts), PRIOR_OTHER / (len(shifts) * GRID_S))
    for beats, prior in classes.items():
        density += prior * _bell(shifts - beats * beat_s, common)
    return density


def _bell(away: Floats, spread: float) -> Floats:
    return np.asarray(
        np.exp(-0.5 * (away / spread) ** 2) / (spread * np.sqrt(2 * np.pi)), dtype=np.float64
    )


def class_words(beats: float, beats_a_bar: float) -> str:
    """Return the class in words: "one beat early", "half a beat late", "two bars early"."""
    side = "late" if beats > 0 else "early"
    size = abs(beats)
    if abs(size - 0.5) < NEAR_BEATS / 2:
        return f"half a beat {side}"
    bars = size / beats_a_bar
    if bars >= 1 and abs(bars - round(bars)) < EXACT:
        return f"{_numbered(round(bars), 'bar')} {side}"
    whole = int(size)
    if size - whole > 0.25:  # noqa: PLR2004 -- halves only
        return f"{_number(whole)} and a half beats {side}"
    return f"{_numbered(whole, 'beat')} {side}"


def _numbered(count: int, thing: str) -> str:
    return f"{_number(count)} {thing}{'s' * (count != 1)}"


def _number(count: int) -> str:
    return NUMBERS[count] if count < len(NUMBERS) else str(count)
