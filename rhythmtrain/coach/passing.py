"""When a tempo is passed, and which tempo comes next.

**Passed.**  A tempo is passed once the share of right runs was surely enough on some day, and as
long as it has not faded since: what was not played for many nights is asked for again.  Whoever
passed a tempo has passed those below it.  More right runs can only pass more.

**Next** comes the tempo above the fastest that is passed, on a ladder of metronome marks from slow
to written; the size of its steps is custom.
"""

from collections.abc import Iterable, Sequence
from datetime import date

from rhythmtrain.coach.estimate import estimate, estimates
from rhythmtrain.coach.ladder import MARKS, ladder, mark_near
from rhythmtrain.coach.settings import USUAL, Settings
from rhythmtrain.units import Bpm

SAME = 1.02
Day = tuple[date, int, int]


def next_tempo(tempo: float, reached: float | None, settings: Settings = USUAL) -> Bpm:
    """Return the tempo after ``reached`` on the ladder up to ``tempo``; the slowest after None."""
    rungs = ladder(tempo, slowest=settings.slow, rungs=settings.rungs)
    if reached is None:
        return rungs[0]
    return next((rung for rung in rungs if rung > reached * SAME), rungs[-1])


def slower(tempo: float, settings: Settings = USUAL) -> Bpm:
    """Return the metronome mark at which to do alone what failed at ``tempo``."""
    return Bpm(float(mark_near(max(tempo * settings.slower, MARKS[0]))))


def passed(days: Iterable[Day], today: date, settings: Settings = USUAL) -> bool:
    """Return whether the share of right runs was once surely enough, and has not faded since.

    ``days`` are (day, runs, right), in rising order of days.
    """
    days = [each for each in days if each[0] <= today]
    now = estimate(days, today, settings.half_nights)
    return now.beyond(settings.share) >= settings.keep and once_passed(days, settings)


def once_passed(days: Sequence[Day], settings: Settings = USUAL) -> bool:
    """Return whether the share of right runs was surely enough at the end of any day."""
    return any(
        known.beyond(settings.share) >= settings.sure
        for known in estimates(days, settings.half_nights)
    )
