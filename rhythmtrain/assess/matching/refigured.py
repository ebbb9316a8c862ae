"""Third stage of matching: a figure played as another figure keeps its own claps.

An eighth and two sixteenths turned round put one clap where another note is written, so that by
time alone one note is missed and one clap is extra.  Where notes of a figure were missed, each way
of reading the figure wrongly is tried: if every note then has a clap of its own near where the
wrong figure would put it, those are its claps, and the mistake can be named.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.assess.figures.places import chances
from rhythmtrain.assess.matching.rendition import Rendition
from rhythmtrain.assess.tolerance import line_s
from rhythmtrain.assess.written import Written
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

NO_CLAP = -1


def refigured(
    rendition: Rendition, timeline: Timeline, written: Written, played_s: Floats
) -> Rendition:
    """Return the rendition with the claps of wrongly read figures given to their notes."""
    if not rendition.extras or not (rendition.clap[rendition.part >= 0] == NO_CLAP).any():
        return rendition
    rank = {int(index): number for number, index in enumerate(written.index)}
    clap, free = rendition.clap.copy(), set(rendition.extras)
    aims = (
        written.times_s
        + rendition.base_s
        + rendition.shift_s
        + _habit_s(rendition, written, played_s)
    )
    window = line_s(written.beat_s)
    for chance in chances(timeline):
        notes = np.array([rank[note] for note in chance.notes], dtype=np.intp)
        whole = (rendition.part[notes] >= 0).all() and not chance.after
        if not whole or (clap[notes] != NO_CLAP).all():
            continue
        by = _displaced_s(chance, timeline) / written.speed
        own = [int(each) for each in clap[notes] if each != NO_CLAP]
        chosen = _each_its_own(aims[notes] + by, window[notes], played_s, sorted({*free, *own}))
        if chosen is not None:
            free = (free | set(own)) - set(chosen.tolist())
            clap[notes] = chosen
    return replace(rendition, clap=clap, extras=tuple(sorted(free)))


def _habit_s(rendition: Rendition, written: Written, played_s: Floats) -> float:
    """Return the median offset of all notes that have a clap."""
    heard = np.flatnonzero(rendition.clap != NO_CLAP)
    late = played_s[rendition.clap[heard]] - written.times_s[heard]
    late = late - rendition.base_s[heard] - rendition.shift_s[heard]
    return float(np.median(late)) if len(heard) else 0.0


def _displaced_s(chance: Chance, timeline: Timeline) -> Floats:
    """Return by how many seconds of the timeline each note of the figure would be displaced."""
    by = dict(chance.moved)
    places = [timeline.notes[note].at for note in chance.notes]
    return np.array(
        [
            timeline.seconds(at + by.get(note, 0)) - timeline.seconds(at)
            for note, at in zip(chance.notes, places, strict=True)
        ]
    )


def _each_its_own(
    aims_s: Floats, window_s: Floats, played_s: Floats, claps: list[int]
) -> Ints | None:
    """Return a clap within the window for every aim, in order and each its own, else None."""
    if len(claps) < len(aims_s):
        return None
    times = played_s[claps]
    nearest = np.argmin(np.abs(times[None, :] - aims_s[:, None]), axis=1)
    near = np.abs(times[nearest] - aims_s) <= window_s
    if not near.all() or (np.diff(nearest) <= 0).any():
        return None
    return np.asarray(np.array(claps, dtype=np.intp)[nearest])
