"""The plainest reading of a path: no leap that is not needed.

Where a passage repeats itself, a player who went straight on can as well be followed through
another repeat, and on a grid of origins one repeat may fit by a hair better than the next.  So
every stretch is asked whether going on from the stretch before it, or, for the first, beginning
at the beginning, explains as many of its claps; if so, that is what happened.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.entries import MOST_BARS_OUT
from rhythmtrain.assess.matching.following import Stretch
from rhythmtrain.assess.matching.matching import pairs, windows_s
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]

AS_MANY = 0.97
MOST_COUNT_IN = 8
STEADY_SHARE = 0.15
FIRST_CLAPS = 3


def plainest(
    stretches: tuple[Stretch, ...],
    played_s: Floats,
    written: Written,
    *,
    entries: tuple[int, ...],
    given: bool,
) -> tuple[Stretch, ...]:
    """Return the stretches with needless leaps taken out.

    ``entries`` are the written notes that are entries; with ``given`` the first stretch stays.
    """
    done: list[Stretch] = []
    for stretch in stretches:
        if not done:
            done.append(stretch if given else _from_the_start(stretch, played_s, written))
            continue
        onward = _from(float(done[-1].origins_s[-1]), stretch, played_s, written)
        if onward is None:
            done.append(_from_an_entry(done[-1], stretch, (played_s, written, entries)) or stretch)
        else:
            done[-1] = _joined(done[-1], onward)
    return tuple(done)


def _from_the_start(stretch: Stretch, played_s: Floats, written: Written) -> Stretch:
    """Return the stretch begun with the first note, after a count-in or not, where that will do."""
    for count in range(min(MOST_COUNT_IN, stretch.last - stretch.first) + 1):
        first = stretch.first + count
        gaps = np.diff(played_s[stretch.first : first + 1])
        if np.any(np.abs(gaps / written.beat_s[0] - 1) > STEADY_SHARE):
            break
        rest = Stretch(first, stretch.last, stretch.origins_s[count:])
        begun = _from(float(played_s[first] - written.times_s[0]), rest, played_s, written)
        if begun is not None:
            return begun
    return stretch


def _from_an_entry(
    before: Stretch, stretch: Stretch, take: tuple[Floats, Written, tuple[int, ...]]
) -> Stretch | None:
    """Return the stretch as the phrase after the next rest, come in at another count, or None."""
    played_s, written, entries = take
    onward = float(before.origins_s[-1])
    reached = np.searchsorted(written.times_s, played_s[before.last] - onward, side="left")
    entry = next((note for note in entries if note >= reached), None)
    if entry is None:
        return None
    reach = MOST_BARS_OUT * float(written.bar_s[entry]) + float(written.beat_s[entry])
    for clap in played_s[stretch.first : min(stretch.first + FIRST_CLAPS, stretch.last) + 1]:
        origin = float(clap - written.times_s[entry])
        if abs(origin - onward) <= reach:
            moved = _from(origin, stretch, played_s, written)
            if moved is None:
                beats = written.beats_late(entry, origin - onward)
                moved = _counted_on(onward, beats, stretch, played_s, written)
            if moved is not None:
                return moved
    return None


def _counted_on(
    onward_s: float, beats: float, stretch: Stretch, played_s: Floats, written: Written
) -> Stretch | None:
    """Return the stretch as played ``beats`` late to an accompanist who breathes, or None.

    ``onward_s`` is where bar 1 begins for the accompanist: each clap stands for the place that
    lies so many beats before the one the accompanist has reached.
    """
    claps = played_s[stretch.first : stretch.last + 1]
    beat = float(np.median(written.beat_quarters))
    places = written.pace.quarter(claps - onward_s) - beats * beat
    origins = claps - written.pace.second(places)
    moved = Stretch(stretch.first, stretch.last, origins)
    own = _explained(stretch.origins_s, stretch, played_s, written)
    enough = _explained(origins, stretch, played_s, written) >= AS_MANY * own
    return moved if enough else None


def _from(origin_s: float, stretch: Stretch, played_s: Floats, written: Written) -> Stretch | None:
    """Return the stretch begun at ``origin_s`` where that explains as many claps, else None."""
    moved = stretch.origins_s + (origin_s - stretch.origins_s[0])
    own = _explained(stretch.origins_s, stretch, played_s, written)
    if _explained(moved, stretch, played_s, written) < AS_MANY * own:
        return None
    return Stretch(stretch.first, stretch.last, moved)


def _explained(origins_s: Floats, stretch: Stretch, played_s: Floats, written: Written) -> int:
    """Return how many claps of the stretch have a note from these origins."""
    at = np.maximum.accumulate(played_s[stretch.first : stretch.last + 1] - origins_s)
    return len(pairs(written.times_s, at, windows_s(written.times_s))[0])


def _joined(before: Stretch, after: Stretch) -> Stretch:
    """Return both stretches as one; claps between them go from one origin to the other."""
    between = np.linspace(before.origins_s[-1], after.origins_s[0], after.first - before.last + 1)[
        1:-1
    ]
    origins = np.concatenate((before.origins_s, between, after.origins_s))
    return Stretch(before.first, after.last, origins)


def thinnest(played_s: Floats, written: Written) -> Stretch:
    """Return the whole take as one stretch, its first clap the first note: too thin to follow."""
    origin = float(played_s[0] - written.times_s[0])
    return Stretch(0, len(played_s) - 1, np.full(len(played_s), origin))
