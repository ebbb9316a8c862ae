"""A history of any earlier version becomes one of today, and keeps every take."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.storage.history.history import FILE_NAME, open_history
from rhythmtrain.storage.history.rows import parts_of, take_row
from rhythmtrain.storage.history.schema import STEPS, migrate, version_of
from rhythmtrain.storage.history.table import connect
from tests.simulate.kept_takes import kept_take

# A step that might come next: it must find the takes that were kept before.
NEXT = (
    "ALTER TABLE takes ADD COLUMN remark TEXT",
    "UPDATE takes SET remark = 'kept in version ' || (SELECT count(*) FROM takes)",
)


def at_version(path: Path, version: int) -> None:
    """Make a file as the program of that version made it."""
    with closing(connect(path)) as connection:
        migrate(connection, path, STEPS[:version])


@pytest.mark.parametrize("version", range(len(STEPS) + 1))
def test_a_file_of_every_version_is_brought_up_to_date(tmp_path: Path, version: int) -> None:
    """From the empty file on; whatever was in it, today's program can use it."""
    at_version(tmp_path / FILE_NAME, version)
    with open_history(tmp_path) as history:
        number = history.keep(kept_take())
        assert history.take(number) is not None
    with closing(connect(tmp_path / FILE_NAME)) as connection:
        assert version_of(connection, tmp_path / FILE_NAME) == len(STEPS)


def test_a_step_keeps_the_takes_that_are_there(tmp_path: Path) -> None:
    """The next version finds them, and is done once only."""
    with open_history(tmp_path) as history:
        history.keep(kept_take(0))
        history.keep(kept_take(1))
    path = tmp_path / FILE_NAME
    for _ in range(2):
        with closing(connect(path)) as connection:
            migrate(connection, path, (*STEPS, NEXT))
            assert version_of(connection, path, newest=len(STEPS) + 1) == len(STEPS) + 1
            remarks = connection.execute("SELECT remark FROM takes").fetchall()
            assert remarks == [("kept in version 2",)] * 2


def test_a_take_kept_before_loudspeakers_were_told_of_hides_nothing(tmp_path: Path) -> None:
    """What an older file does not say stays unsaid; what is kept from now on is said."""
    path = tmp_path / FILE_NAME
    at_version(path, 1)
    with closing(connect(path)) as connection:
        take = take_row(kept_take())
        names, places = ", ".join(take), ", ".join(f":{name}" for name in take)
        connection.execute(f"INSERT INTO takes ({names}) VALUES ({places})", take)  # noqa: S608
        played = parts_of(kept_take())["played"][0]
        del played["hidden"]
        connection.execute("INSERT INTO played VALUES (1, :onsets, :document)", played)
    with open_history(tmp_path) as history:
        hidden = history.keep(kept_take(1, hidden_s=(0.1, 2 / 3)))
        before, after = history.take(1), history.take(hidden)
    assert before is not None
    assert after is not None
    assert before.record.onsets == kept_take().onsets
    assert before.record.hidden_s == ()
    assert after.record.hidden_s == (0.1, 2 / 3)


def test_a_step_that_fails_leaves_the_file_as_it_was(tmp_path: Path) -> None:
    """All of a step or nothing of it: the takes can still be read."""
    with open_history(tmp_path) as history:
        history.keep(kept_take())
    path = tmp_path / FILE_NAME
    with closing(connect(path)) as connection:
        with pytest.raises(sqlite3.OperationalError, match="no such table"):
            migrate(connection, path, (*STEPS, (*NEXT, "DROP TABLE nowhere")))
        assert version_of(connection, path) == len(STEPS)
        columns = [row[1] for row in connection.execute("PRAGMA table_info(takes)")]
        assert "remark" not in columns
    with open_history(tmp_path) as history:
        assert len(list(history.takes())) == 1


def test_a_file_of_a_newer_version_is_left_alone(tmp_path: Path) -> None:
    """An older program must not write what it does not know; it says what to do."""
    path = tmp_path / FILE_NAME
    with closing(connect(path)) as connection:
        migrate(connection, path, (*STEPS, NEXT))
    with pytest.raises(FileError, match=r"newer rhythmtrain \(version 3, .* up to 2\): update"):
        open_history(tmp_path)


@pytest.mark.parametrize("first", [1, 2, 3])
def test_a_file_that_is_made_at_this_moment_is_of_one_state(tmp_path: Path, first: int) -> None:
    """Before any thing that is read of it, another may make its tables: that is no stranger's file."""
    path = tmp_path / FILE_NAME
    read: list[str] = []
    with closing(connect(path)) as asking, closing(connect(path)) as making:

        def make(statement: str) -> None:
            read.append(statement)
            if len(read) == first:
                migrate(making, path)

        asking.set_trace_callback(make)
        assert version_of(asking, path) in {0, len(STEPS)}
        asking.set_trace_callback(None)
        migrate(asking, path)
        assert version_of(asking, path) == len(STEPS)
