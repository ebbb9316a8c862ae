"""When a tempo is passed, and which tempo comes next.

**Passed.**  A tempo is passed once the share of right runs was surely enough on some day, and as
long as it has not faded since: what was not played for many nights is asked for again.  Whoever
passed a tempo has passed those below it.  More right runs can only pass more.

Only the last runs count for that: who learns is not held back by how it began.

**Next** comes the tempo above the fastest that is passed, on a ladder of metronome marks from slow
to written; the size of its steps is custom.
"""

from collections.abc import Sequence
from datetime import date

from rhythmtrain.coach.estimate import Row, estimate
from rhythmtrain.coach.ladder import MARKS, ladder, mark_near
from rhythmtrain.coach.settings import USUAL, Settings
from rhythmtrain.units import Bpm

SAME = 1.02


def same(first: float, second: float) -> bool:
    """Return whether two tempi are the same to the ear: within 2 %."""
    return max(first, second) <= SAME * min(first, second)


def next_tempo(tempo: float, reached: float | None, settings: Settings = USUAL) -> Bpm:
    """Return the tempo after ``reached`` on the ladder up to ``tempo``; the slowest after None."""
    rungs = ladder(tempo, slowest=settings.slow, rungs=settings.rungs)
    if reached is None:
        return rungs[0]
    return next((rung for rung in rungs if rung > reached * SAME), rungs[-1])


def slower(tempo: float, settings: Settings = USUAL) -> Bpm:
    """Return the metronome mark at which to do alone what failed at ``tempo``."""
    return Bpm(float(mark_near(max(tempo * settings.slower, MARKS[0]))))


def passed(rows: Sequence[Row], today: date, settings: Settings = USUAL) -> bool:
    """Return whether the share of right runs was once surely enough, and has not faded since.

    ``rows`` are (day, runs, right), in rising order of days.
    """
    rows = [row for row in rows if row[0] <= today]
    now = estimate(rows, today, settings.half_nights, settings.window)
    return now.beyond(settings.share) >= settings.keep and once_passed(rows, settings)


def once_passed(rows: Sequence[Row], settings: Settings = USUAL) -> bool:
    """Return whether the share of right runs was surely enough after any of ``rows``."""
    for number, (day, _, right) in enumerate(rows):
        if right:
            lately = rows[max(number + 1 - settings.window, 0) : number + 1]
            known = estimate(lately, day, settings.half_nights, settings.window)
            if known.beyond(settings.share) >= settings.sure:
                return True
    return False
