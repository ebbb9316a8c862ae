"""How far each freely played note lies from where its neighbours put it.

A single displaced note is a shape like any other (see ``shapes``): its share of one second is
the note's offset as judged by all the others, the line and the walk together.  One note far out
would make its neighbours look wrong the other way, so the worst is taken out first, then the next,
until all that are left lie within their windows.  Where a wait before a note explains its times
better than the note alone does, it is a breath and no fault: only what is left after it counts.

In free playing no window can be finer than about a third of the shorter neighbouring interval.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.assess.free.shapes import Weighed, shapes_of, weigh
from rhythmtrain.assess.free.walk import Filter, Floats, Row, roughness, without

WINDOW_SHARE = 0.35
NARROWEST_S = 0.060
PLAIN_WINDOWS = 1.4
# A window is never narrower than so many standard errors of the offset itself.
ERRORS = 3.0
ZERO, ONE = Fraction(0), Fraction(1)


@dataclass(frozen=True, slots=True)
class Offsets:
    """Offsets of a row of notes and their windows, seconds, shape (n,); positive is late."""

    offsets_s: Floats
    windows_s: Floats


def offsets_in(row: Row, gains: Filter, notes: Sequence[int], moved_s: Floats) -> Offsets:
    """Return the offsets of ``row``, a take without its named figures, with those put back.

    ``moved_s`` (n,) is by how much the named figures displaced each note.
    """
    single, waits = _weighed(notes, gains, ONE), _weighed(notes, gains, ONE, after=ONE)
    error = np.sqrt(roughness(gains.apply(row.played_s)) / single.weight)
    windows = np.maximum(_windows(row), ERRORS * error)
    slips = np.zeros(len(row))
    away = np.zeros(len(row))
    for _ in range(len(row)):
        parts = gains.apply(row.played_s)
        away, _ = single.meet(parts)
        far = np.where(slips == 0, np.abs(away) / windows, 0.0)
        worst = int(np.argmax(far))
        if far[worst] <= 1:
            break
        late, _ = waits.meet(parts)
        waited = waits.weight * np.maximum(late, 0) ** 2
        pause = worst + int(np.argmax(waited[worst : worst + 2]))
        if waited[pause] > single.weight[worst] * away[worst] ** 2:
            row = without(row, late[pause] * waits.shapes.whole(pause))
            continue
        slips[worst] = away[worst]
        row = without(row, away[worst] * single.shapes.whole(worst))
    return Offsets(np.where(slips == 0, away, slips) + moved_s, windows)


def _weighed(
    notes: Sequence[int], gains: Filter, by: Fraction, *, after: Fraction = ZERO
) -> Weighed:
    """Return the shapes of each note displaced by a second, ``after`` seconds for all after it."""
    ranks = {note: rank for rank, note in enumerate(notes)}
    shapes = [Chance("note", (note,), ((note, by),), after) for note in notes]
    return weigh(shapes_of(shapes, ranks, np.ones(len(notes))), gains)


def _windows(row: Row) -> Floats:
    gaps = np.diff(row.written_s) * row.stretch
    shorter = np.minimum(np.append(gaps, np.inf), np.insert(gaps, 0, np.inf))
    windows: Floats = np.maximum(WINDOW_SHARE * shorter, NARROWEST_S)
    return windows
