"""Figures played as other figures, when the time of every note is known.

Each place where a figure can be read wrongly has a shape d: by how much each of its notes would
be displaced (see ``figures``).  With r the offsets of those notes from the player's habit and
sigma the spread of honest players, least squares gives the share of the shape that is there,
f = d.r / d.d (0: as written, 1: fully the wrong figure), and the log likelihood ratio against
playing as written, d.r/sigma^2 - d.d/(2 sigma^2).  A mistake is named when f is more than its
least share, the ratio passes 4, and the shape leaves little of the offsets unexplained.
"""

from collections import defaultdict

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.figure_places import chances
from rhythmtrain.assess.figures import Chance
from rhythmtrain.assess.findings import Mistake
from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]

RATIO = 4.0
MOST_SHARE = 1.6
SPREADS_OFF = 2.5


def mistakes_in(
    timeline: Timeline, offsets_s: dict[int, float], beat_s: dict[int, float], speed: float
) -> tuple[Mistake, ...]:
    """Return the figures that were played as others, one for each kind and place in the bar.

    ``offsets_s`` gives for each note of the timeline that was played its offset from the
    player's habit, ``beat_s`` the length of its beat; ``speed`` is played over the timeline's.
    """
    found: dict[tuple[int, str, str], list[tuple[Chance, float]]] = defaultdict(list)
    asked: dict[tuple[int, str, str], int] = defaultdict(int)
    taken: set[int] = set()
    weighed = []
    for chance in chances(timeline):
        if chance.after or not all(note in offsets_s for note in chance.notes):
            continue
        first = timeline.notes[chance.notes[0]].note
        key = (first.bar, first.count, chance.what)
        asked[key] += 1
        ratio = _ratio(timeline, chance, offsets_s, beat_s, speed)
        if ratio is not None:
            weighed.append((ratio, key, chance))
    for ratio, key, chance in sorted(weighed, key=lambda each: -each[0]):
        displaced = {note for note, _ in chance.moved}
        if displaced & taken:
            continue
        taken |= displaced
        found[key].append((chance, ratio))
    named = [
        Mistake(key[0], key[1], key[2], hits[0][0].notes, len(hits), asked[key])
        for key, hits in found.items()
    ]
    return tuple(sorted(named, key=lambda mistake: mistake.notes))


def _ratio(
    timeline: Timeline,
    chance: Chance,
    offsets_s: dict[int, float],
    beat_s: dict[int, float],
    speed: float,
) -> float | None:
    """Return the log likelihood ratio for the wrong figure, or None where it is not there."""
    notes = chance.notes
    by = dict(chance.moved)
    shape = np.array([_seconds(timeline, note, by.get(note), speed) for note in notes])
    heard = np.array([offsets_s[note] for note in notes])
    size = float(shape @ shape)
    if size <= 0:
        return None
    spread = float(spread_s(beat_s[notes[0]]))
    share = float(shape @ heard) / size
    if not chance.least < share < MOST_SHARE:
        return None
    left = heard - share * shape
    if float(np.max(np.abs(left))) > max(SPREADS_OFF * spread, 0.5 * float(np.max(np.abs(shape)))):
        return None
    ratio = (share - 0.5) * size / spread**2
    fit = float(np.sum((heard - shape) ** 2)) / (2 * spread**2)
    return ratio - min(fit, ratio - RATIO) * 0.1 if ratio > RATIO else None


def _seconds(timeline: Timeline, note: int, by: object, speed: float) -> float:
    if by is None:
        return 0.0
    at = timeline.notes[note].at
    return float(timeline.seconds(at + by) - timeline.seconds(at)) / speed  # type: ignore[operator]
