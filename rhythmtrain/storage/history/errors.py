"""What SQLite says, in sentences for whoever keeps the files."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from rhythmtrain.errors import FileError

_PRIMARY = 0xFF
ELSEWHERE = "or set RHYTHMTRAIN_HOME to another folder"
MEANINGS: dict[int, str] = {
    sqlite3.SQLITE_FULL: f"the disk is full: make room, {ELSEWHERE}",
    sqlite3.SQLITE_IOERR: f"the disk does not take or give it (is it full?): make room, {ELSEWHERE}",
    sqlite3.SQLITE_READONLY: f"you may not write there: allow it, {ELSEWHERE}",
    sqlite3.SQLITE_PERM: f"you may not write there: allow it, {ELSEWHERE}",
    sqlite3.SQLITE_CANTOPEN: f"you may not read and write there: allow it, {ELSEWHERE}",
    sqlite3.SQLITE_BUSY: "another rhythmtrain is writing: wait until it has finished",
    sqlite3.SQLITE_LOCKED: "another rhythmtrain is writing: wait until it has finished",
}
# Text that is not UTF-8 is found by the driver itself, which gives no code.
UNREADABLE_TEXT = sqlite3.SQLITE_CORRUPT
DAMAGE = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)


class DamagedError(FileError):
    """The file is no longer a whole database."""


def is_busy(error: sqlite3.Error) -> bool:
    """Return whether somebody else has the file at this moment, and nothing else is wrong."""
    return getattr(error, "sqlite_errorcode", 0) & _PRIMARY == sqlite3.SQLITE_BUSY


@contextmanager
def told_of(path: Path) -> Iterator[None]:
    """Turn what SQLite says about ``path`` into one FileError, a ``DamagedError`` where it is that.

    A misuse of the driver is our own mistake and passes as it is.
    """
    try:
        yield
    except sqlite3.ProgrammingError:
        raise
    except sqlite3.DatabaseError as error:
        code = getattr(error, "sqlite_errorcode", UNREADABLE_TEXT) & _PRIMARY
        if code in DAMAGE:
            raise DamagedError(f"{path} is damaged: {error}") from error
        raise FileError(f"cannot use {path}: {MEANINGS.get(code, str(error))}") from error
