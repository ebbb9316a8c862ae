"""A damaged history: put aside whole, and what can still be read carried into a new one.

The damaged file is first copied aside as it is, with its log of writes where SQLite has not yet
taken that into it, so that nothing that follows can lose anything.  Then each take is looked up by its number: a page that cannot be read
costs the takes on it and no others.  The new file takes the old one's name only when it is
complete.

A file whose first page is rubbish has lost its table of contents, not its contents.  Since the
first page of every new history of a version is the same, that of an empty one is put in its place.
"""

import contextlib
import json
import shutil
import sqlite3
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from rhythmtrain.storage.history.day_sums import sum_up
from rhythmtrain.storage.history.errors import told_of
from rhythmtrain.storage.history.plain_json import seconds_of
from rhythmtrain.storage.history.rows import record_of
from rhythmtrain.storage.history.schema import migrate
from rhythmtrain.storage.history.table import (
    NOT_A_RECORD,
    PLAYED,
    RHYTHM,
    TAKE,
    add_take,
    connect,
    row_of,
)
from rhythmtrain.storage.history.take_record import KeptTake
from rhythmtrain.storage.safely import told_plainly

LOG, SHARED = "-wal", "-shm"
# Where SQLite's header says up to which change its count of pages holds.
COUNT_VALID_AT = slice(92, 96)
NEVER = b"\xff\xff\xff\xff"
PAGE = 4096
# More numbers than that are not looked up one by one between those that could be listed.
WIDEST = 10_000_000
HIDDEN = "SELECT hidden FROM played WHERE take = ?"
FOUND = {0: "no take", 1: "1 take"}


def mend(path: Path) -> str:
    """Put the damaged file aside, carry over what can be read, and return a sentence that says so.

    Raises:
        FileError: no room, or the folder may not be written to; the damaged file is as it was.
    """
    with told_plainly(path), TemporaryDirectory(dir=path.parent, prefix=".mending-") as made:
        work, new = Path(made) / "damaged.sqlite", Path(made) / "new.sqlite"
        aside = _aside(path)
        for name in (aside, work):
            _copy(path, name)
        with told_of(path):
            _empty(new)
            found = _carried(work, new)
            if not found:
                _give_first_page(work, new)
                found = _carried(work, new)
        for ending in (LOG, SHARED):
            _beside(path, ending).unlink(missing_ok=True)
        new.replace(path)
    takes = FOUND.get(found, f"{found} takes")
    return (
        f"the history {path} was damaged: {takes} could be read and carried into a new one, and "
        f"the damaged file is kept as {aside.name}"
    )


def _aside(path: Path) -> Path:
    number = 1
    while (aside := path.with_name(f"{path.stem}-damaged-{number}{path.suffix}")).exists():
        number += 1
    return aside


def _copy(path: Path, to: Path) -> None:
    shutil.copyfile(path, to)
    if _beside(path, LOG).exists():
        shutil.copyfile(_beside(path, LOG), _beside(to, LOG))


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)


def _empty(path: Path) -> None:
    with contextlib.closing(connect(path)) as connection:
        migrate(connection, path)


def _give_first_page(work: Path, empty: Path) -> None:
    """Give ``work`` the first page of an empty history, through which the others are found."""
    page = bytearray(empty.read_bytes()[:PAGE])
    page[COUNT_VALID_AT] = NEVER
    with work.open("r+b") as file:
        file.write(page)


def _carried(work: Path, new: Path) -> int:
    """Carry every take of ``work`` that can be read into ``new``, and return how many those are."""
    days = set()
    found = 0
    with contextlib.closing(connect(new)) as connection:
        connection.execute("BEGIN")
        for take in _readable(work):
            add_take(connection, take.record, number=take.id)
            days.add((take.record.passage_name, take.record.day))
            found += 1
        sum_up(connection, days)
        connection.execute("COMMIT")
    return found


def _readable(work: Path) -> Iterator[KeptTake]:
    """Yield every take of which row and onsets can be read, with its number."""
    try:
        connection = connect(work)
    except sqlite3.DatabaseError:
        return
    with contextlib.closing(connection):
        for number in _numbers(connection):
            yield from _one(connection, number)


def _numbers(connection: sqlite3.Connection) -> Iterable[int]:
    """Return all numbers that a take may have, from what can be listed from either end."""
    found: set[int] = set()
    for column in ("id FROM takes NOT INDEXED", "take FROM played"):
        for order in ("ASC", "DESC"):
            with contextlib.suppress(sqlite3.DatabaseError):
                for (number,) in connection.execute(f"SELECT {column} ORDER BY 1 {order}"):
                    found.add(number)
    if found and max(found) - min(found) < WIDEST:
        return range(min(found), max(found) + 1)
    return sorted(found)


def _one(connection: sqlite3.Connection, number: int) -> Iterator[KeptTake]:
    """Yield the take of that number; the passage as written and the document may be missing."""
    with contextlib.suppress(sqlite3.DatabaseError, *NOT_A_RECORD):
        take = row_of(connection, TAKE, number)
        onsets = row_of(connection, "SELECT onsets FROM played WHERE take = ?", number)
        if take is not None and onsets is not None:
            rhythm = document = hidden = None
            with contextlib.suppress(sqlite3.DatabaseError):
                rhythm = row_of(connection, RHYTHM, take["rhythm"])
            with contextlib.suppress(sqlite3.DatabaseError, zlib.error, TypeError):
                packed = (row_of(connection, PLAYED, number) or {})["document"]
                document = packed if zlib.decompress(packed) else None
            with contextlib.suppress(sqlite3.DatabaseError, ValueError, TypeError):
                text = (row_of(connection, HIDDEN, number) or {}).get("hidden")
                hidden = text if seconds_of(json.loads(text or "[]")) else None
            played = {**onsets, "document": document, "hidden": hidden}
            yield KeptTake(number, record_of(take, played, rhythm))
