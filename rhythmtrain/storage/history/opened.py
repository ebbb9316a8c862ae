"""The file of the history while it is open: asked, mended where it is damaged, asked again.

What is asked is a function of the connection.  A damaged file is mended when it is met (see ``damage``),
``say`` is told so in one sentence, and what was asked is done all the same.  Another process may have put
a mended file in the place of the one that is open; so it is looked at before every question.
"""

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

from rhythmtrain.storage.alone import alone_in
from rhythmtrain.storage.history.damage import mend
from rhythmtrain.storage.history.errors import DamagedError, told_of
from rhythmtrain.storage.history.schema import migrate
from rhythmtrain.storage.history.table import connect

Answer = TypeVar("Answer")
Say = Callable[[str], None]


class Opened:
    """The file at ``path``, opened when something is asked."""

    def __init__(self, path: Path, say: Say) -> None:
        """Take the file at ``path``, which may not be there yet."""
        self.path = path
        self._say = say
        self._connection: sqlite3.Connection | None = None
        self._file: tuple[int, int] | None = None

    def close(self) -> None:
        """Close the file; it is opened again when something is asked."""
        if self._connection is not None:
            self._connection.close()
            self._connection = None

    def answer(self, ask: Callable[[sqlite3.Connection], Answer]) -> Answer:
        """Return what ``ask`` gives; a file that is found damaged is mended and asked again."""
        met = _identity(self.path)
        try:
            with told_of(self.path):
                return ask(self._opened())
        except DamagedError:
            self.close()
            with alone_in(self.path.parent):
                # Another may have mended it while this one waited.
                if _identity(self.path) == met:
                    self._say(mend(self.path))
        with told_of(self.path):
            return ask(self._opened())

    def _opened(self) -> sqlite3.Connection:
        """Return the open file; another process may have put a mended one in its place."""
        if self._connection is not None and self._file != _identity(self.path):
            self.close()
        if self._connection is None:
            # Nobody puts a mended file in its place meanwhile.
            with alone_in(self.path.parent):
                connection = connect(self.path)
                try:
                    migrate(connection, self.path)
                except BaseException:
                    connection.close()
                    raise
                self._connection = connection
                self._file = _identity(self.path)
        return self._connection


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[None]:
    """Make what is done inside one step that is done whole or not at all."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.rollback()
        raise


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
