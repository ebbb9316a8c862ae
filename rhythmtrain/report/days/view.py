"""What progress tells of a passage: every bar, entry and tempo on every day of practice.

A bar is judged by the coach (``coach.skill``), over the spread of a steady player at the tempo of
the day; here are the days themselves, for the picture and the table.  Whether a bar became more
even is said only where the difference of the first and the last days is plainly larger than
chance: the logarithm of a spread of n offsets has a standard error of about 1/sqrt(2(n - 1)).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import log, sqrt

from rhythmtrain.coach.skill import BarSkill, EntrySkill, PassageState

RECENT_DAYS = 3
NINETY = 1.645
FEWEST_FREE = 6


@dataclass(frozen=True, slots=True)
class BarOnDay:
    """One bar on one day, over all tempi of that day.

    ``spread_s`` is the standard deviation of its offsets, ``steady_s`` that of a steady player at
    that tempo, ``habit_s`` the median offset, positive late; None where too little was heard.
    ``free`` is how many offsets the spread rests on, less one for each take.
    """

    day: date
    takes: int
    matched: int
    missed: int
    extra: int
    spread_s: float | None
    steady_s: float
    habit_s: float | None

    @property
    def free(self) -> int:
        """Return how many offsets the spread rests on, less one for each take."""
        return max(self.matched - self.takes, 0) if self.spread_s is not None else 0


@dataclass(frozen=True, slots=True)
class BarRow:
    """One bar, over the days on which it was played, in order."""

    bar: int
    days: tuple[BarOnDay, ...]
    skill: BarSkill | None = None

    @property
    def recent(self) -> tuple[int, int]:
        """Return how many notes were not heard on the last days, and of how many."""
        last = self.days[-RECENT_DAYS:]
        missed = sum(each.missed for each in last)
        return missed, missed + sum(each.matched for each in last)

    @property
    def habit_s(self) -> float | None:
        """Return the habit on the last day on which it is known."""
        return next((d.habit_s for d in reversed(self.days) if d.habit_s is not None), None)

    @property
    def trend(self) -> int:
        """Return 1 where it is plainly more even than at first, -1 less even, 0 untold.

        Whoever is as even as a steady player, then and now, is told neither.
        """
        known = [day for day in self.days if day.free]
        half = len(known) // 2
        first, last = _ratio(known[:half]), _ratio(known[-half:] if half else [])
        if first is None or last is None:
            return 0
        apart = log(first[0]) - log(last[0])
        surely = NINETY * sqrt(1 / (2 * first[1]) + 1 / (2 * last[1]))
        if abs(apart) < surely or max(first[0], last[0]) < 1:
            return 0
        return 1 if apart > 0 else -1


@dataclass(frozen=True, slots=True)
class EntryOnDay:
    """One entry on one day, ``alone`` without help; offsets in seconds, positive late."""

    day: date
    alone: bool
    tries: int
    in_time: int
    best_s: float | None
    last_s: float | None
    last_verdict: str


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry, over the days on which it was tried, in order."""

    bar: int
    count: str
    days: tuple[EntryOnDay, ...]
    skill: EntrySkill | None = None

    def tries(self, *, alone: bool) -> tuple[int, int]:
        """Return how many tries were in time, and of how many, with or without help."""
        some = [each for each in self.days if each.alone == alone]
        return sum(each.in_time for each in some), sum(each.tries for each in some)

    @property
    def best_s(self) -> float | None:
        """Return the offset nearest to none."""
        return min((d.best_s for d in self.days if d.best_s is not None), key=abs, default=None)


@dataclass(frozen=True, slots=True)
class TempoOnDay:
    """One tempo (beats a minute, whole) on one day: ``right`` of ``takes`` without a fault."""

    day: date
    tempo: int
    takes: int
    right: int


@dataclass(frozen=True, slots=True)
class Progress:
    """A passage: what the coach knows of it, and what it was like on each day.

    ``part`` is "17-24" where only these bars are practised for the passage, None for all of it.
    """

    state: PassageState
    takes: int
    bars: tuple[BarRow, ...]
    entries: tuple[EntryRow, ...]
    tempi: tuple[TempoOnDay, ...]
    part: str | None = None

    @property
    def days(self) -> tuple[date, ...]:
        """Return the days of practice, in order."""
        found = {each.day for each in self.tempi}
        found |= {day.day for row in self.bars for day in row.days}
        found |= {day.day for row in self.entries for day in row.days}
        return tuple(sorted(found))

    @property
    def best(self) -> TempoOnDay | None:
        """Return the fastest tempo with a take without a fault, on its last such day."""
        clean = [each for each in self.tempi if each.right]
        return max(clean, key=lambda each: (each.tempo, each.day), default=None)

    @property
    def last(self) -> TempoOnDay | None:
        """Return the tempo played most on the last day."""
        if not self.tempi:
            return None
        day = max(each.day for each in self.tempi)
        return max((e for e in self.tempi if e.day == day), key=lambda e: (e.takes, e.tempo))


def _ratio(days: Sequence[BarOnDay]) -> tuple[float, int] | None:
    """Return the spread over a steady player's and what it rests on, None for too little."""
    free = sum(each.free for each in days)
    if free < FEWEST_FREE:
        return None
    squares = sum(
        each.free * (each.spread_s / each.steady_s) ** 2
        for each in days
        if each.spread_s is not None
    )
    return (sqrt(squares / free), free) if squares > 0 else None
