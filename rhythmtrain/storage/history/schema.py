"""The tables of the history, and how a file of an older version becomes one of today.

``STEPS`` holds one row of statements for each version: the first makes version 1 out of an empty
file, the next would make version 2 out of version 1.  A step that was ever given away is never
changed; all that are wanting run in one transaction, so a file is of one version or the next.

``takes`` is narrow, for listing and counting; what is long (onsets, document, when onsets may have
gone unheard) lies in ``played``.
``bars`` and ``entries`` say how each bar and entry of a take went.  ``bar_days`` and ``entry_days``
are sums of them by day, written afresh in the transaction that changes the day: progress over
years reads a few rows for each day that was practised, not all takes.
"""

import sqlite3
from collections.abc import Sequence
from pathlib import Path

from rhythmtrain.errors import FileError

# "RhTr" in the file's header says whose file it is.
APPLICATION = 0x52685472

_FIRST = (
    """CREATE TABLE rhythms (
        id INTEGER PRIMARY KEY, digest BLOB NOT NULL UNIQUE,
        drill TEXT NOT NULL, bar_numbers TEXT NOT NULL
    )""",
    """CREATE TABLE takes (
        id INTEGER PRIMARY KEY AUTOINCREMENT, mark BLOB NOT NULL UNIQUE,
        rhythm INTEGER REFERENCES rhythms (id),
        passage TEXT NOT NULL, title TEXT NOT NULL, bars TEXT,
        played_at TEXT NOT NULL, zone_s INTEGER NOT NULL, day TEXT NOT NULL,
        tempo REAL, speed REAL NOT NULL, repeats INTEGER NOT NULL, timing TEXT NOT NULL,
        source TEXT NOT NULL, instrument TEXT NOT NULL, help TEXT, duration_s REAL NOT NULL,
        conditions TEXT NOT NULL,
        looks_like INTEGER, complete INTEGER NOT NULL, expected INTEGER NOT NULL,
        matched INTEGER NOT NULL, missed INTEGER NOT NULL, extra INTEGER NOT NULL,
        not_checked INTEGER NOT NULL, plain INTEGER NOT NULL, mistakes INTEGER NOT NULL,
        habit_s REAL, spread_s REAL
    )""",
    """CREATE TABLE played (
        take INTEGER PRIMARY KEY REFERENCES takes (id) ON DELETE CASCADE,
        onsets TEXT NOT NULL, document BLOB NOT NULL
    )""",
    """CREATE TABLE bars (
        take INTEGER NOT NULL REFERENCES takes (id) ON DELETE CASCADE, bar INTEGER NOT NULL,
        matched INTEGER NOT NULL, missed INTEGER NOT NULL, extra INTEGER NOT NULL,
        habit_s REAL, spread_s REAL, PRIMARY KEY (take, bar)
    ) WITHOUT ROWID""",
    """CREATE TABLE entries (
        take INTEGER NOT NULL REFERENCES takes (id) ON DELETE CASCADE, place INTEGER NOT NULL,
        bar INTEGER NOT NULL, count TEXT NOT NULL, offset_s REAL, verdict TEXT NOT NULL,
        PRIMARY KEY (take, place)
    ) WITHOUT ROWID""",
    """CREATE TABLE bar_days (
        passage TEXT NOT NULL, day TEXT NOT NULL, tempo INTEGER NOT NULL, bar INTEGER NOT NULL,
        takes INTEGER NOT NULL, matched INTEGER NOT NULL, missed INTEGER NOT NULL,
        extra INTEGER NOT NULL, habit_s REAL, spread_s REAL,
        PRIMARY KEY (passage, day, tempo, bar)
    ) WITHOUT ROWID""",
    """CREATE TABLE entry_days (
        passage TEXT NOT NULL, day TEXT NOT NULL, bar INTEGER NOT NULL, count TEXT NOT NULL,
        help TEXT NOT NULL, tries INTEGER NOT NULL, in_time INTEGER NOT NULL,
        best_s REAL, last_s REAL, last_verdict TEXT NOT NULL,
        PRIMARY KEY (passage, day, bar, count, help)
    ) WITHOUT ROWID""",
    "CREATE INDEX takes_by_time ON takes (played_at)",
    "CREATE INDEX takes_by_passage ON takes (passage, played_at)",
    """CREATE INDEX takes_by_day ON takes (
        passage, day, tempo, looks_like, complete, expected, missed, plain, mistakes
    )""",
    "CREATE INDEX takes_by_rhythm ON takes (rhythm)",
)
# When a loudspeaker was so loud that a clap may have gone unheard: seconds of the take, as JSON.
_HIDDEN = ("ALTER TABLE played ADD COLUMN hidden TEXT NOT NULL DEFAULT '[]'",)
# One statement sees one state of the file, whoever makes its tables at this moment.
_WHOSE = """
SELECT user_version, application_id, (SELECT count(*) FROM sqlite_schema)
FROM pragma_user_version, pragma_application_id
"""
STEPS: tuple[tuple[str, ...], ...] = (_FIRST, _HIDDEN)


def migrate(
    connection: sqlite3.Connection, path: Path, steps: Sequence[Sequence[str]] = STEPS
) -> None:
    """Bring the open file to the version that ``steps`` lead to, in one transaction.

    Raises:
        FileError: the file is of a newer version, or belongs to another program.
    """
    if version_of(connection, path, newest=len(steps)) == len(steps):
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        # Another process may have done it while this one waited.
        version = version_of(connection, path, newest=len(steps))
        for step in steps[version:]:
            for statement in step:
                connection.execute(statement)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {len(steps)}")
    except BaseException:
        connection.rollback()
        raise
    connection.commit()


def version_of(connection: sqlite3.Connection, path: Path, *, newest: int = len(STEPS)) -> int:
    """Return the version of the open file, 0 where it is empty.

    Raises:
        FileError: the file is of a newer version, or belongs to another program.
    """
    version, owner, tables = connection.execute(_WHOSE).fetchone()
    if owner != APPLICATION and (tables or version or owner):
        raise FileError(
            f"{path} is a database of another program: move it away, or set RHYTHMTRAIN_HOME to "
            "another folder"
        )
    if version > newest:
        raise FileError(
            f"{path} was written by a newer rhythmtrain (version {version}, this one reads up to "
            f"{newest}): update rhythmtrain"
        )
    return int(version)
