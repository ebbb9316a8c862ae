"""Progress over days, read: what bars, entries and tempi were like on each day of practice.

The sums of a day were written when its takes were kept (see ``day_sums``), so that years are read at once.
"""

import sqlite3
from dataclasses import dataclass, fields
from typing import Any


@dataclass(frozen=True, slots=True)
class TakeSummary:
    """What a list says of a take; ``plain`` counts notes that were plainly early or late.

    ``played_at`` is in UTC, ``tempo`` in beats a minute as played.  ``habit_s`` is the median
    offset, ``spread_s`` the standard deviation of the offsets.
    """

    id: int
    passage: str
    title: str
    bars: str | None
    played_at: str
    day: str
    tempo: float | None
    speed: float
    repeats: int
    timing: str
    source: str
    instrument: str
    help: str | None
    looks_like: bool | None
    complete: bool
    expected: int
    matched: int
    missed: int
    extra: int
    not_checked: int
    plain: int
    mistakes: int
    habit_s: float | None
    spread_s: float | None


@dataclass(frozen=True, slots=True)
class PassageKept:
    """A passage that was practised: how many takes there are, and its first and last day."""

    passage: str
    title: str
    takes: int
    first_day: str
    last_day: str


@dataclass(frozen=True, slots=True)
class BarDay:
    """One bar on one day in one tempo (beats a minute, rounded).

    ``habit_s`` is the median offset, positive late, ``spread_s`` the standard deviation; None
    where too little was heard.
    """

    day: str
    tempo: int
    bar: int
    takes: int
    matched: int
    missed: int
    extra: int
    habit_s: float | None
    spread_s: float | None


@dataclass(frozen=True, slots=True)
class EntryDay:
    """One entry on one day with one kind of help ("" where nobody knows which).

    ``best_s`` is the offset nearest to none, ``last_s`` that of the last try.
    """

    day: str
    bar: int
    count: str
    help: str
    tries: int
    in_time: int
    best_s: float | None
    last_s: float | None
    last_verdict: str


@dataclass(frozen=True, slots=True)
class TempoDay:
    """One day in one tempo with one kind of help: takes, those that went through whole, and those without a fault.

    A take without a fault is whole, every note was there, and none was plainly early or late.
    ``bars`` are those that were asked for, None for all of them; ``help`` names what helped.
    """

    day: str
    tempo: float
    takes: int
    whole: int
    clean: int
    bars: str | None
    help: str | None


_COLUMNS = tuple(each.name for each in fields(TakeSummary))
LOOKS_LIKE, COMPLETE = _COLUMNS.index("looks_like"), _COLUMNS.index("complete")
_SUMMARIES = f"""
SELECT {", ".join(_COLUMNS)} FROM takes
WHERE passage = coalesce(?, passage) AND played_at >= ? ORDER BY played_at DESC, id DESC LIMIT ?
"""  # noqa: S608  (names of columns)
_PASSAGES = """
SELECT passage, max(title), count(*), min(day), max(day) FROM takes GROUP BY passage
ORDER BY max(played_at) DESC
"""
_BAR_DAYS = """
SELECT day, tempo, bar, takes, matched, missed, extra, habit_s, spread_s FROM bar_days
WHERE passage = ? AND day >= ? ORDER BY day, tempo, bar
"""
_ENTRY_DAYS = """
SELECT day, bar, count, help, tries, in_time, best_s, last_s, last_verdict FROM entry_days
WHERE passage = ? AND day >= ? ORDER BY day, bar, count, help
"""
_TEMPO_DAYS = """
SELECT day, tempo, count(*), sum(complete),
    sum(complete AND expected > 0 AND missed = 0 AND plain = 0 AND mistakes = 0), bars, help
FROM takes WHERE passage = ? AND day >= ? AND tempo IS NOT NULL AND looks_like IS NOT 0
GROUP BY day, tempo, bars, help
"""


def summaries(
    connection: sqlite3.Connection, passage: str | None, since: str, limit: int
) -> tuple[TakeSummary, ...]:
    """Return what a list says of each take, the newest first; a negative limit is none."""
    rows = connection.execute(_SUMMARIES, (passage, since, limit))
    return tuple(map(_summary, rows))


def passages(connection: sqlite3.Connection) -> tuple[PassageKept, ...]:
    """Return the passages that were practised, the last one first."""
    return tuple(PassageKept(*row) for row in connection.execute(_PASSAGES))


def bar_days(connection: sqlite3.Connection, passage: str, since: str) -> tuple[BarDay, ...]:
    """Return every bar of ``passage`` on every day from ``since`` on."""
    return tuple(BarDay(*row) for row in connection.execute(_BAR_DAYS, (passage, since)))


def entry_days(connection: sqlite3.Connection, passage: str, since: str) -> tuple[EntryDay, ...]:
    """Return every entry of ``passage`` on every day from ``since`` on."""
    return tuple(EntryDay(*row) for row in connection.execute(_ENTRY_DAYS, (passage, since)))


def tempo_days(connection: sqlite3.Connection, passage: str, since: str) -> tuple[TempoDay, ...]:
    """Return every tempo of ``passage`` on every day from ``since`` on."""
    return tuple(TempoDay(*row) for row in connection.execute(_TEMPO_DAYS, (passage, since)))


def _summary(row: tuple[Any, ...]) -> TakeSummary:
    """Return a row as a summary, with the two truths that SQLite keeps as numbers."""
    values = list(row)
    for truth in (LOOKS_LIKE, COMPLETE):
        values[truth] = None if row[truth] is None else bool(row[truth])
    return TakeSummary(*values)
