"""What a coach is told of the takes: plain numbers by day and tempo, nothing of files or sound.

A *run* is one time through the passage; it went *right* when it was complete, every note was
there, and none stood plainly apart.  Only runs of the whole passage, as it is practised, belong
in ``Runs``; what was played of some bars alone belongs in ``BarRuns``.
"""

from dataclasses import dataclass
from datetime import date

from rhythmtrain.errors import RequestError


@dataclass(frozen=True, slots=True)
class Runs:
    """On one day at one tempo (beats a minute): ``right`` of ``runs`` times through."""

    day: date
    tempo: float
    runs: int
    right: int

    def __post_init__(self) -> None:
        """Refuse more right runs than runs."""
        if not (0 <= self.right <= self.runs and self.tempo > 0):
            raise RequestError(
                f"{self.right} of {self.runs} runs at {self.tempo:g} beats a minute cannot be"
            )


@dataclass(frozen=True, slots=True)
class BarRuns:
    """One bar on one day at one tempo, in ``takes`` takes.

    ``spread_s`` is the standard deviation of its offsets, None where too little was heard.
    """

    day: date
    tempo: float
    bar: int
    takes: int
    matched: int
    missed: int
    extra: int = 0
    spread_s: float | None = None


@dataclass(frozen=True, slots=True)
class EntryTries:
    """One entry on one day: ``in_time`` of ``tries``; ``alone`` where nothing helped."""

    day: date
    bar: int
    count: str
    alone: bool
    tries: int
    in_time: int


@dataclass(frozen=True, slots=True)
class Practised:
    """A passage and all that was heard of it.

    ``passage`` is the name under which its takes are kept, ``tempo`` the written one in beats a
    minute.
    """

    passage: str
    title: str
    tempo: float
    runs: tuple[Runs, ...] = ()
    bars: tuple[BarRuns, ...] = ()
    entries: tuple[EntryTries, ...] = ()

    @property
    def days(self) -> tuple[date, ...]:
        """Return the days on which something of it was heard, the first one first."""
        days = {each.day for each in self.runs}
        days |= {each.day for each in self.bars} | {each.day for each in self.entries}
        return tuple(sorted(days))
