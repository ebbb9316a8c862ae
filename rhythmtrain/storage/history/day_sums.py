"""The sums of a day, written afresh whenever a take of it comes or goes.

Takes of another piece than the passage say nothing of it and are left out.  A bar's habit and
evenness on a day are the medians over the takes of that day in that tempo, so that one bad take
does not stand for a day.
"""

import sqlite3
from collections import defaultdict
from collections.abc import Iterable, Sequence
from statistics import median
from typing import Any

Passages = Iterable[tuple[str, str]]
Group = defaultdict[tuple[Any, ...], list[tuple[Any, ...]]]
IN_TIME = "in time"

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
