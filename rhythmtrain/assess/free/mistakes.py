"""From wrong figures to what is said of them: the mistakes of a take, named and counted.

Figures found in one and the same written place are one mistake, however often it comes round.  A
kind found in four places or more is a habit, and is one mistake with its first place.
"""

import math
from bisect import bisect_left
from collections.abc import Sequence
from itertools import groupby

import numpy as np

from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.assess.figures.places import chances
from rhythmtrain.assess.findings import Mistake
from rhythmtrain.assess.free.row import row_of
from rhythmtrain.assess.free.tempo import FEWEST_NOTES, POOLED_FROM, Wrong, search
from rhythmtrain.assess.free.walk import Manner, filter_for
from rhythmtrain.timing.timeline import Timeline

# Beside a click the tempo is the click's; what is left of the walk follows a slow drift.
CLICK_MANNER = Manner(tempo_spread=0.01, noise_scale=1.0)
# Spread of honest taps around their habit for a beat of I ms (open tapping data, Baath & Madison
# 2012): max(25, 0.0199 I + 0.0000144 I^2) ms.
LEAST_SPREAD_S = 0.025
SPREAD_SHARE, SPREAD_GROWTH = 0.0199, 0.0144


def mistakes_known(
    timeline: Timeline, offsets_s: Sequence[float], *, speed: float = 1.0
) -> tuple[Mistake, ...]:
    """Return the mistakes of a take whose times are known (a click, a recording).

    ``offsets_s`` are played minus written for every note of the timeline, NaN where it was missed
    or not expected; ``speed`` is played over the timeline's tempo.  What moves everything after it
    (a rest, a bar) is no figure here: beside a click that is a shift.
    """
    notes = [note for note, offset in enumerate(offsets_s) if math.isfinite(offset)]
    if len(notes) < FEWEST_NOTES:
        return ()
    places = tuple(chance for chance in chances(timeline) if not chance.after)
    at = [timeline.notes[note].at for note in notes]
    times = [timeline.seconds(timeline.notes[note].at) / speed + offsets_s[note] for note in notes]
    speeds = speed * np.array([timeline.tempo.speed_at(place) for place in at])
    values = [timeline.bars[timeline.notes[note].place].bar.metre.tempo_value for note in notes]
    beats = np.array([float(value) for value in values]) / speeds
    spread = np.maximum(LEAST_SPREAD_S, SPREAD_SHARE * beats + SPREAD_GROWTH * beats**2)
    row = row_of(timeline, notes, times)
    found = search(places, notes, row, filter_for(row, CLICK_MANNER, spread), 1 / speeds)
    return mistakes_of(timeline, found.wrong, places)


def mistakes_of(
    timeline: Timeline, found: Sequence[Wrong], places: Sequence[Chance]
) -> tuple[Mistake, ...]:
    """Return the figures ``found`` among all ``places`` as mistakes, in order of place."""
    mistakes: list[tuple[int, Mistake]] = []
    by_kind = sorted(found, key=lambda wrong: (wrong.chance.what, wrong.chance.notes))
    for what, group in groupby(by_kind, key=lambda wrong: wrong.chance.what):
        wrongs = [wrong.chance for wrong in group]
        same = [chance for chance in places if chance.what == what]
        where = {_written(timeline, chance) for chance in wrongs}
        if len(where) >= POOLED_FROM:
            mistakes.append(_mistake(timeline, wrongs, len(same)))
            continue
        for place in where:
            here = [other for other in wrongs if _written(timeline, other) == place]
            of = sum(_written(timeline, other) == place for other in same)
            mistakes.append(_mistake(timeline, here, of))
    return tuple(mistake for _, mistake in sorted(mistakes, key=lambda pair: pair[0]))


def _written(timeline: Timeline, chance: Chance) -> tuple[int | None, str]:
    note = timeline.notes[chance.notes[0]]
    return timeline.bars[note.place].index, note.note.count


def _mistake(timeline: Timeline, made: Sequence[Chance], of: int) -> tuple[int, Mistake]:
    """Return the first note and the mistake, its notes counted among the player's own."""
    first = min(made, key=lambda chance: chance.notes[0])
    note = timeline.notes[first.notes[0]].note
    own = [index for index, each in enumerate(timeline.notes) if each.expected]
    moved = sorted({index for chance in made for index in chance.notes})
    notes = tuple(bisect_left(own, index) for index in moved)
    return first.notes[0], Mistake(note.bar, note.count, first.what, notes, len(made), of)
