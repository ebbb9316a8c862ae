"""Reading and writing single takes in the open file; transactions belong to the caller."""

import sqlite3
import time
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RhythmtrainError
from rhythmtrain.storage.history.errors import DamagedError, is_busy
from rhythmtrain.storage.history.rows import (
    PARTS,
    Row,
    parts_of,
    record_of,
    rhythm_row,
    take_row,
)
from rhythmtrain.storage.history.take_record import KeptTake, TakeRecord

# A take that is kept late is kept: a slow disk and a busy machine take their time.
BUSY_S = 30.0
AGAIN_S = 0.01
NOT_A_RECORD = (
    ValueError,
    TypeError,
    ArithmeticError,
    KeyError,
    zlib.error,
    RecursionError,
    RhythmtrainError,
)
TAKE = "SELECT * FROM takes WHERE id = ?"
PLAYED = "SELECT onsets, hidden, document FROM played WHERE take = ?"
RHYTHM = "SELECT drill, bar_numbers FROM rhythms WHERE id = ?"


def connect(path: Path) -> sqlite3.Connection:
    """Return an open file, made where it is missing, that waits for others and forgets nothing.

    ``synchronous`` is full: once a take is kept, not even a power cut loses it.
    """
    connection = sqlite3.connect(path, timeout=BUSY_S, isolation_level=None)
    try:
        _write_ahead(connection)
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
    except BaseException:
        connection.close()
        raise
    return connection


def _write_ahead(connection: sqlite3.Connection) -> None:
    """Give the file its log of writes, once whoever makes or leaves it at this moment is done.

    For this one statement SQLite does not wait by itself.
    """
    until = time.monotonic() + BUSY_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode = WAL")
        except sqlite3.OperationalError as error:
            if not is_busy(error) or time.monotonic() >= until:
                raise
            time.sleep(AGAIN_S)
        else:
            return


def row_of(connection: sqlite3.Connection, statement: str, *values: object) -> Row | None:
    """Return the first row of ``statement`` by its columns' names, None where there is none."""
    cursor = connection.execute(statement, values)
    row = cursor.fetchone()
    if row is None:
        return None
    return dict(zip((column[0] for column in cursor.description), row, strict=True))


def add_take(
    connection: sqlite3.Connection,
    record: TakeRecord,
    *,
    number: int | None = None,
    renew: bool = True,
) -> tuple[int, bool]:
    """Return the take's number and whether it is new.

    A take that is there already gets the newer judgement, or with ``renew`` False keeps its own.
    A new one gets the number ``number``, or the next.
    """
    take = take_row(record)
    before = row_of(connection, "SELECT id FROM takes WHERE mark = ?", take["mark"])
    if before is not None and not renew:
        return before["id"], False
    take["rhythm"] = _rhythm(connection, record)
    if before is None:
        number = _insert(connection, "takes", {"id": number, **take})
    else:
        number = int(before["id"])
        for table in PARTS:
            connection.execute(f"DELETE FROM {table} WHERE take = ?", (number,))  # noqa: S608
        columns = ", ".join(f"{name} = :{name}" for name in take)
        connection.execute(f"UPDATE takes SET {columns} WHERE id = {number}", take)  # noqa: S608
    for table, rows in parts_of(record).items():
        for row in rows:
            _insert(connection, table, {"take": number, **row})
    return number, before is None


def read_take(connection: sqlite3.Connection, number: int, path: Path) -> KeptTake | None:
    """Return the take of that number, None where there is none.

    Raises:
        DamagedError: its rows are not those of a take.
    """
    take = row_of(connection, TAKE, number)
    if take is None:
        return None
    played = row_of(connection, PLAYED, number)
    rhythm = None if take["rhythm"] is None else row_of(connection, RHYTHM, take["rhythm"])
    try:
        return KeptTake(number, record_of(take, played or {}, rhythm))
    except NOT_A_RECORD as error:
        raise DamagedError(f"{path} is damaged: take {number} does not read") from error


def remove_take(connection: sqlite3.Connection, number: int) -> tuple[str, str] | None:
    """Remove a take and return its (passage, day), None where there is none of that number."""
    row = row_of(connection, "SELECT passage, day, rhythm FROM takes WHERE id = ?", number)
    if row is None:
        return None
    connection.execute("DELETE FROM takes WHERE id = ?", (number,))
    others = "SELECT 1 FROM takes WHERE rhythm = ? LIMIT 1"
    if row_of(connection, others, row["rhythm"]) is None:
        connection.execute("DELETE FROM rhythms WHERE id = ?", (row["rhythm"],))
    return row["passage"], row["day"]


def numbers_of(
    connection: sqlite3.Connection, passage: str | None, since: str | None, limit: int | None
) -> Iterator[int]:
    """Yield the numbers of takes, the newest first; all of them are known before the first."""
    wanted, values = [], []
    for condition, value in (("passage = ?", passage), ("played_at >= ?", since)):
        if value is not None:
            wanted.append(condition)
            values.append(value)
    where = f"WHERE {' AND '.join(wanted)}" if wanted else ""
    statement = f"SELECT id FROM takes {where} ORDER BY played_at DESC, id DESC LIMIT ?"  # noqa: S608
    rows = connection.execute(statement, (*values, -1 if limit is None else limit)).fetchall()
    return (number for (number,) in rows)


def _rhythm(connection: sqlite3.Connection, record: TakeRecord) -> int | None:
    """Return the number of the passage as it was written then, None where it could not be."""
    if not record.drill:
        return None
    row = rhythm_row(record)
    before = row_of(connection, "SELECT id FROM rhythms WHERE digest = ?", row["digest"])
    return before["id"] if before else _insert(connection, "rhythms", row)


def _insert(connection: sqlite3.Connection, table: str, row: dict[str, Any]) -> int:
    """Insert a row whose table and columns are named in this module and ``rows``."""
    columns, places = ", ".join(row), ", ".join(f":{name}" for name in row)
    statement = f"INSERT INTO {table} ({columns}) VALUES ({places})"  # noqa: S608
    return int(connection.execute(statement, row).lastrowid or 0)
