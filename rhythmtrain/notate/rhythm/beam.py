"""Reading onsets as figures: the most likely rows of figures.

Each hypothesis is a row of figures from the first beat on, with beat and tempo followed beside it
(``filter``); in a bar that is held back or pushed the tempo may wander more,
which is rare, and costs.  The weight of a hypothesis is the chance of its figures times
the density of the onsets under them; all hypotheses explain all the onsets, so weights compare.

Several tries of the same passage are read together: each has its beat and tempo, all have the same
figures.  At a bar line the time may stop (a pause); that is rare, and costs.

Of the hypotheses that have come to the same beat the best ``width`` are kept; there, each onset
counts against the density at its very centre, so that one who has explained more is not favoured, and
one who has left an onset behind is out.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import log

import numpy as np

from rhythmtrain.notate.rhythm.filter import (
    LOG_TWO_PI,
    PAUSED,
    Floats,
    Front,
    Timing,
    WrittenBeat,
    after_pause,
    ahead,
    begun,
    explained,
    joined,
    moved,
)

TABLE_BEATS = 10.0
BENT_LOG_CHANCE = log(0.01)
BENT_WANDER = 0.05
SHORTEST_PAUSE_S = 0.25
# An onset this far before the beat (in standard errors, and in quarters) cannot be on it.
MOST_DOUBTS, MOST_BEHIND = 5.0, 0.75


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to read the onsets: for each beat the index of its figure, and beats after a pause.

    ``figures`` has -1 for a beat inside a figure of two beats.
    """

    figures: tuple[int, ...]
    pauses: tuple[int, ...]
    log_weight: float


def read_onsets(
    tries: Sequence[Floats], beats: Sequence[WrittenBeat], timing: Timing, *, width: int = 120
) -> tuple[Reading, ...]:
    """Return the likeliest readings of ``tries``, best first; perhaps none.

    Each of ``tries`` holds the onsets of one try in seconds, all equally many; the first is a note
    of the first of ``beats``.
    """
    onsets = np.stack([np.asarray(each, dtype=np.float64) for each in tries])
    waiting: dict[int, list[Front]] = defaultdict(list)
    waiting[0] = [begun(onsets, timing)]
    done: list[Front] = []
    for index, beat in enumerate(beats):
        if index not in waiting:
            continue
        front = _best(joined(waiting.pop(index)), onsets, timing, width)
        if index and beat.opens_bar:
            front = _at_bar_line(front, onsets, timing, width)
        for after, grown in _grown(front, index, beats, onsets, timing):
            over = grown.used == onsets.shape[1]
            if over.any():
                done.append(grown.taken(np.flatnonzero(over)))
            if not over.all():
                waiting[index + after].append(grown.taken(np.flatnonzero(~over)))
    able = [each for each in _readings(done) if each.log_weight > -np.inf]
    return tuple(sorted(able, key=lambda each: -each.log_weight)[:width])


def _at_bar_line(front: Front, onsets: Floats, timing: Timing, width: int) -> Front:
    """Return ``front`` with what may happen at a bar line beside going on."""
    plain = replace(front, wander=np.full(len(front.weight), timing.wander))
    bent = replace(
        front,
        weight=front.weight + BENT_LOG_CHANCE,
        wander=np.full(len(front.weight), BENT_WANDER),
    )
    silent = np.flatnonzero(np.all(ahead(front, onsets) > SHORTEST_PAUSE_S, axis=1))
    paused = after_pause(plain.taken(silent), timing)
    return _best(joined([plain, bent, paused]), onsets, timing, width)


def _best(front: Front, onsets: Floats, timing: Timing, width: int) -> Front:
    doubt = MOST_DOUBTS * np.sqrt(front.spread[:, 0] + timing.spread_s**2)
    doubt = np.minimum(doubt, MOST_BEHIND * timing.quarter_s)
    alive = np.flatnonzero(np.all(ahead(front, onsets) > -doubt[:, None], axis=1))
    front = front.taken(alive) if alive.size else front
    if len(front.weight) <= width:
        return front
    centre = front.state.shape[1] * (log(timing.spread_s) + 0.5 * LOG_TWO_PI)
    merit = front.weight + front.used * centre
    return front.taken(np.argpartition(-merit, width)[:width])


def _grown(
    front: Front,
    index: int,
    beats: Sequence[WrittenBeat],
    onsets: Floats,
    timing: Timing,
) -> "list[tuple[int, Front]]":
    """Return ``front`` grown by every figure of beat ``index``, and how many beats that takes."""
    beat, coming = beats[index], beats[index:]
    groups: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, figure in enumerate(beat.figures):
        groups[figure.beats, len(figure.at)].append(number)
    grown = []
    for (span, size), numbers in groups.items():
        able = np.flatnonzero(front.used + size <= onsets.shape[1])
        if able.size and span <= len(coming):
            length = float(sum(each.length for each in coming[:span]))
            chances = _chances(front.taken(able), beats[:index], beat, numbers)
            heard = _heard(front.taken(able), (beat, numbers, chances), onsets, timing)
            grown.append((span, moved(heard, length, span, timing)))
    return grown


def _chances(
    front: Front, before: Sequence[WrittenBeat], beat: WrittenBeat, numbers: list[int]
) -> Floats:
    """Return the log chance of each figure for each hypothesis, shape (B, figures).

    A figure that has come before in the passage is likelier to come again: the table counts as
    much as ``TABLE_BEATS`` beats that were read already (a Dirichlet prior).
    """
    alike = [place for place, each in enumerate(before) if each.kind == beat.kind]
    came = front.rows[:, alike, np.newaxis] % PAUSED == np.array(numbers)
    table = np.exp([beat.figures[number].log_chance for number in numbers])
    chance = (TABLE_BEATS * table + came.sum(axis=1)) / (TABLE_BEATS + len(alike))
    with np.errstate(divide="ignore"):
        logs: Floats = np.log(chance)
    return logs


def _heard(
    front: Front, grown: tuple[WrittenBeat, list[int], Floats], onsets: Floats, timing: Timing
) -> Front:
    """Return every hypothesis with every one of some figures, its onsets explained."""
    beat, numbers, chances = grown
    size = len(beat.figures[numbers[0]].at)
    many, row = len(front.weight), np.repeat(np.arange(len(front.weight)), len(numbers))
    which = np.tile(numbers, many)
    places = np.array([[float(at) for at in beat.figures[number].at] for number in numbers])
    places = places.reshape(len(numbers), size)
    weight = front.weight[row] + chances.ravel()
    at = np.tile(places, (many, 1))
    wide = explained(replace(front.taken(row), weight=weight), at, onsets, timing.spread_s)
    rows = np.concatenate([front.rows[row], which[:, np.newaxis]], axis=1)
    return replace(wide, wander=front.wander[row], rows=rows)


def _readings(done: list[Front]) -> list[Reading]:
    found = []
    for front in done:
        for row, weight in zip(front.rows.tolist(), front.weight.tolist(), strict=True):
            pauses = tuple(index + 1 for index, each in enumerate(row) if each >= PAUSED - 1)
            plain = tuple(each - PAUSED if each >= PAUSED - 1 else each for each in row)
            found.append(Reading(plain, pauses, weight))
    return found
