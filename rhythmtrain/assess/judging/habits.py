"""The player's own habit beside every note: what its verdict is told from.

Where something kept time the habit is one number, the median offset of what was played in one go.
Where nothing did, nobody's tempo stays exactly the same: the habit is the median of the nearest
notes, laid along the way that the tempo goes there (the Theil-Sen slope of some more of them).  So a
tempo that breathes is not a row of late notes, and who gets a little slower all through is early
neither at the beginning nor at the end, where all the nearest notes lie to one side.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.matching.rendition import Rendition
from rhythmtrain.assess.offsets import slope_error, theil_sen
from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

HABIT_NOTES, FEWEST_BESIDE = 8, 3
BEATS_A_NOTE = 2.0
SURE_ERRORS = 2.0
PHRASE_NOTES = 4
NARROW_BEATS = 0.35


def habits_s(own: Floats, written: Written, rendition: Rendition, *, clicked: bool) -> Floats:
    """Return the habit beside every note, in seconds; ``own`` is NaN for notes not played.

    ``clicked`` says that something kept time.
    """
    habits = np.zeros(len(own))
    for number in range(len(rendition.parts)):
        part = rendition.part == number
        mine = np.flatnonzero(part & np.isfinite(own))
        if not len(mine):
            continue
        if clicked or len(mine) <= HABIT_NOTES:
            near = _near(mine, own, np.full(len(mine), np.median(own[mine])), written)
            habits[part] = np.median(own[near])
            continue
        near = _near(mine, own, _running(own, mine, written), written)
        habits[part] = np.interp(np.flatnonzero(part), near, _running(own, near, written))
    return habits


def _near(mine: Ints, own: Floats, habit: Floats, written: Written) -> Ints:
    """Return the notes not far from the habit, all of them where none is near."""
    near = mine[np.abs(own[mine] - habit) < NARROW_BEATS * written.beat_s[mine]]
    return near if len(near) else mine


def _running(own: Floats, notes: Ints, written: Written) -> Floats:
    """Return the habit at each of ``notes``: of 8 before and after, of its own phrase if that has 4.

    With nothing that keeps time, a player finds the beat anew after a rest.
    """
    values, times, phrase = own[notes], written.times_s[notes], written.phrase[notes]
    beats, spread = times / written.beat, float(spread_s(written.beat))
    habits = []
    for at in range(len(notes)):
        wide, beside = _beside(at, beats, 2 * HABIT_NOTES), _beside(at, beats, HABIT_NOTES)
        slope = _slope(times[wide], values[wide], _together(phrase[wide]), spread)
        level = values[beside] - slope * (times[beside] - times[at])
        same = level[phrase[beside] == phrase[at]]
        habits.append(np.median(same if len(same) >= PHRASE_NOTES else level))
    return np.array(habits)


def _slope(times: Floats, values: Floats, groups: Floats | None, spread: float) -> float:
    """Return how habits change with time, 0 where that may be the scatter of single notes."""
    slope = theil_sen(times, values, groups)
    return slope if abs(slope) >= SURE_ERRORS * slope_error(times, spread, groups) else 0.0


def _beside(at: int, beats: Floats, notes: int) -> slice:
    """Return the nearest notes before and after, none far away where some are near."""
    far = np.abs(beats - beats[at]) > BEATS_A_NOTE * notes
    least, most = notes * FEWEST_BESIDE // HABIT_NOTES, notes
    before = int(np.clip(np.sum(~far[:at]), least, most))
    after = int(np.clip(np.sum(~far[at + 1 :]), least, most))
    return slice(max(0, at - before), at + after + 1)


def _together(phrase: Ints) -> Floats | None:
    """Return the phrases within which a slope can be told, None where they are of few notes each."""
    whole = len(phrase) >= PHRASE_NOTES * len(np.unique(phrase))
    return phrase.astype(np.float64) if whole else None
