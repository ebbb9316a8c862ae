"""The history: every take that was kept, in one SQLite file in the user's folder.

Each take is one transaction that is on the disk before ``keep`` returns; whatever stops the
program, a take is there whole or not at all.  Several processes may use the file at once: readers
see whole takes, writers wait for each other (see ``opened``).
"""

import sqlite3
from collections.abc import Iterable, Iterator
from datetime import date, datetime
from functools import partial
from itertools import islice
from pathlib import Path
from typing import Self

from rhythmtrain.storage.history import days as history_days
from rhythmtrain.storage.history.day_sums import sum_up
from rhythmtrain.storage.history.days import BarDay, EntryDay, PassageKept, TakeSummary, TempoDay
from rhythmtrain.storage.history.lines import Imported, line_of, records_of_lines
from rhythmtrain.storage.history.opened import Opened, Say, transaction
from rhythmtrain.storage.history.table import (
    add_take,
    numbers_of,
    read_take,
    remove_take,
)
from rhythmtrain.storage.history.take_record import Conditions, KeptTake, TakeRecord, utc_text
from rhythmtrain.storage.places import user_folder
from rhythmtrain.storage.safely import told_plainly

__all__ = ["Conditions", "History", "Imported", "KeptTake", "TakeRecord", "open_history"]

FILE_NAME = "history.sqlite"
# Whoever keeps a take meanwhile waits for these: 0.6 s on two cores with eighteen busy programs.
LINES_AT_ONCE = 100


def _quietly(_sentence: str) -> None:
    """Say it to nobody."""


def open_history(folder: Path | None = None, *, say: Say = _quietly) -> "History":
    """Return the history in ``folder``, which is made where it is missing.

    ``say`` is given a sentence where the file was found damaged and was mended.

    Raises:
        FileError: the folder may not be written to, the disk is full, or the file is of another
            program or a newer version.
    """
    path = (folder or user_folder()) / FILE_NAME
    with told_plainly(path):
        path.parent.mkdir(parents=True, exist_ok=True)
    return History(path, say)


class History:
    """An open history; close it, or use it in a ``with`` statement."""

    def __init__(self, path: Path, say: Say) -> None:
        """Open the file at ``path``, mending it where it is damaged."""
        self._file = Opened(path, say)
        self._file.answer(lambda _: None)

    def __enter__(self) -> Self:
        """Return the history itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close the file."""
        self.close()

    @property
    def path(self) -> Path:
        """Return where the file lies."""
        return self._file.path

    def close(self) -> None:
        """Close the file; it is opened again when something is asked."""
        self._file.close()

    def keep(self, record: TakeRecord) -> int:
        """Keep a take and return its number; once this returns nothing can undo it.

        The same take (passage, bars, time and onsets) kept again has the same number and the
        newer judgement.

        Raises:
            FileError: the disk is full, or may not be written to; nothing of the take is kept.
        """

        def keep(connection: sqlite3.Connection) -> int:
            with transaction(connection):
                number, _ = add_take(connection, record)
                sum_up(connection, [(record.passage_name, record.day)])
            return number

        return self._file.answer(keep)

    def takes(
        self,
        passage: str | None = None,
        since: datetime | None = None,
        limit: int | None = None,
    ) -> Iterator[KeptTake]:
        """Yield takes, the newest first, each read when it is asked for."""
        since_text = None if since is None else utc_text(since)
        for number in self._file.answer(lambda each: numbers_of(each, passage, since_text, limit)):
            take = self.take(number)
            if take is not None:
                yield take

    def take(self, number: int) -> KeptTake | None:
        """Return the take of that number, None where there is none."""
        return self._file.answer(lambda each: read_take(each, number, self.path))

    def delete(self, number: int) -> bool:
        """Delete the take of that number; return False where there is none."""

        def delete(connection: sqlite3.Connection) -> bool:
            with transaction(connection):
                day = remove_take(connection, number)
                sum_up(connection, [] if day is None else [day])
            return day is not None

        return self._file.answer(delete)

    def summaries(
        self,
        passage: str | None = None,
        since: datetime | None = None,
        limit: int | None = None,
    ) -> tuple[TakeSummary, ...]:
        """Return what a list says of each take, the newest first."""
        begin, most = "" if since is None else utc_text(since), -1 if limit is None else limit
        return self._file.answer(lambda each: history_days.summaries(each, passage, begin, most))

    def passages(self) -> tuple[PassageKept, ...]:
        """Return the passages that were practised, the last one first."""
        return self._file.answer(history_days.passages)

    def bar_days(self, passage: str, since: date | None = None) -> tuple[BarDay, ...]:
        """Return every bar of a passage on every day from ``since`` on, by tempo."""
        return self._file.answer(lambda each: history_days.bar_days(each, passage, _day(since)))

    def entry_days(self, passage: str, since: date | None = None) -> tuple[EntryDay, ...]:
        """Return every entry of a passage on every day from ``since`` on, by help."""
        return self._file.answer(lambda each: history_days.entry_days(each, passage, _day(since)))

    def tempo_days(self, passage: str, since: date | None = None) -> tuple[TempoDay, ...]:
        """Return every tempo of a passage on every day from ``since`` on."""
        return self._file.answer(lambda each: history_days.tempo_days(each, passage, _day(since)))

    def export_lines(self) -> Iterator[str]:
        """Yield every take as a line of JSON (see ``lines``), the oldest first."""
        numbers = self._file.answer(lambda each: list(numbers_of(each, None, None, None)))
        for number in reversed(numbers):
            take = self.take(number)
            if take is not None:
                yield line_of(take.record)

    def import_lines(self, lines: Iterable[str]) -> Imported:
        """Keep the takes in ``lines`` and return how many were new, known, and refused.

        A line that holds no take is refused with a sentence; it does not stop the others.

        Raises:
            FileError: the disk is full, or may not be written to; what was kept until then stays.
        """
        kept = already = 0
        refused: list[str] = []
        numbered = enumerate(lines, start=1)
        while some := list(islice(numbered, LINES_AT_ONCE)):
            records = list(records_of_lines(some, refused))
            new = self._file.answer(partial(_keep_all, records=records))
            kept += new
            already += len(records) - new
        return Imported(kept, already, tuple(refused))


def _keep_all(connection: sqlite3.Connection, records: list[TakeRecord]) -> int:
    """Keep what is not there yet in one transaction and return how many that were."""
    days, kept = set(), 0
    with transaction(connection):
        for record in records:
            _, new = add_take(connection, record, renew=False)
            if new:
                kept += 1
                days.add((record.passage_name, record.day))
        sum_up(connection, days)
    return kept


def _day(since: date | None) -> str:
    return "" if since is None else since.isoformat()
