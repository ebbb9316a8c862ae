"""Progress over days: what bars, entries and tempi were like on each day of practice.

Takes of another piece than the passage say nothing of it and are left out.  A bar's habit and
evenness on a day are the medians over the takes of that day in that tempo, so that one bad take
does not stand for a day.
"""

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from statistics import median
from typing import Any

Passages = Iterable[tuple[str, str]]
Group = defaultdict[tuple[Any, ...], list[tuple[Any, ...]]]
IN_TIME = "in time"


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
_TAKES_OF_DAY = """
FROM takes WHERE passage = ? AND day = ? AND looks_like IS NOT 0 AND tempo IS NOT NULL
"""
_BARS_OF_DAY = f"""
SELECT cast(round(t.tempo) AS INTEGER), b.bar, b.matched, b.missed, b.extra, b.habit_s, b.spread_s
FROM (SELECT id, tempo {_TAKES_OF_DAY}) AS t JOIN bars AS b ON b.take = t.id
"""  # noqa: S608  (both parts stand above)
_ENTRIES_OF_DAY = f"""
SELECT e.bar, e.count, coalesce(t.help, ''), e.offset_s, e.verdict
FROM (SELECT id, played_at, help {_TAKES_OF_DAY}) AS t JOIN entries AS e ON e.take = t.id
ORDER BY t.played_at, t.id, e.place
"""  # noqa: S608


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


def sum_up(connection: sqlite3.Connection, days: Passages) -> None:
    """Write the sums of each (passage, day) of ``days`` afresh, in the transaction that is open."""
    for where in days:
        connection.execute("DELETE FROM bar_days WHERE passage = ? AND day = ?", where)
        connection.execute("DELETE FROM entry_days WHERE passage = ? AND day = ?", where)
        bars = _grouped(connection.execute(_BARS_OF_DAY, where), 2)
        connection.executemany(
            "INSERT INTO bar_days VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [(*where, *key, *_bar_sums(rows)) for key, rows in bars.items()],
        )
        entries = _grouped(connection.execute(_ENTRIES_OF_DAY, where), 3)
        connection.executemany(
            "INSERT INTO entry_days VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            [(*where, *key, *_entry_sums(rows)) for key, rows in entries.items()],
        )


def _summary(row: tuple[Any, ...]) -> TakeSummary:
    """Return a row as a summary, with the two truths that SQLite keeps as numbers."""
    values = list(row)
    for truth in (LOOKS_LIKE, COMPLETE):
        values[truth] = None if row[truth] is None else bool(row[truth])
    return TakeSummary(*values)


def _grouped(rows: Iterable[tuple[Any, ...]], keys: int) -> Group:
    """Return the rest of each row, in order, by its first ``keys`` values."""
    groups: Group = defaultdict(list)
    for row in rows:
        groups[row[:keys]].append(row[keys:])
    return groups


def _bar_sums(rows: Sequence[tuple[Any, ...]]) -> tuple[Any, ...]:
    matched, missed, extra, habits, spreads = zip(*rows, strict=True)
    counts = (len(rows), sum(matched), sum(missed), sum(extra))
    return (*counts, _middle(habits), _middle(spreads))


def _entry_sums(rows: Sequence[tuple[Any, ...]]) -> tuple[Any, ...]:
    offsets = [offset for offset, _ in rows if offset is not None]
    best = min(offsets, key=abs, default=None)
    in_time = sum(verdict == IN_TIME for _, verdict in rows)
    return (len(rows), in_time, best, *rows[-1])


def _middle(values: Iterable[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return median(known) if known else None
