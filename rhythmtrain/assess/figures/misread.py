"""A passage read wrongly throughout: one figure played as another wherever it stands.

Whoever plays every dotted pair even plays, by time alone, another passage: nearly half the notes
lie far from where they are written, and a take in which nothing else is wrong would be refused.
So before a take is refused it is held against the passage as it sounds when one kind of figure is
misread in every place.  Only kinds that stand in three places or more are asked: a reading that
could be chosen note by note would fit any take.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace

import numpy as np

from rhythmtrain.assess.figures.places import chances
from rhythmtrain.assess.findings import Mistake
from rhythmtrain.assess.written import Written
from rhythmtrain.timing.timeline import Timeline

FEWEST_PLACES = 3
# Below this share of the notes moved, a take is told from the passage as it is written.
LEAST_MOVED = 0.15
# So many of its places a figure must be misread in, before a take is known by that.
MOST_PLACES = 0.75


def misreadings(timeline: Timeline, written: Written) -> Iterator[Written]:
    """Yield ``written`` as it sounds with one kind of figure misread in all its places."""
    rank = {int(index): number for number, index in enumerate(written.index)}
    kinds = defaultdict(list)
    for chance in chances(timeline):
        if not chance.after:
            kinds[chance.what].append(chance)
    for places in kinds.values():
        late_s = np.zeros(len(rank))
        for note, quarters in (pair for place in places for pair in place.moved):
            at = timeline.notes[note].at
            late = timeline.seconds(at + quarters) - timeline.seconds(at)
            late_s[rank[note]] = late / written.speed
        times_s = written.times_s + late_s
        enough = np.count_nonzero(late_s) >= LEAST_MOVED * len(rank)
        if len(places) >= FEWEST_PLACES and enough and (np.diff(times_s) > 0).all():
            yield replace(written, times_s=times_s)


def named_throughout(mistakes: Iterable[Mistake]) -> bool:
    """Return whether a figure was found misread in nearly all its places."""
    return any(mistake.times >= MOST_PLACES * mistake.of > 1 for mistake in mistakes)
