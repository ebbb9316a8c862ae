"""Whatever happens to the program or the disk, a take is there whole or not at all."""

import os
import resource
import signal
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from pathlib import Path
from threading import Barrier

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.storage.history.errors import told_of
from rhythmtrain.storage.history.history import FILE_NAME, open_history
from rhythmtrain.storage.history.schema import migrate
from rhythmtrain.storage.history.table import connect
from rhythmtrain.storage.history.take_record import TakeRecord
from tests.simulate.kept_takes import kept_take

ROOT = Path(__file__).parents[3]
NOBODY = 65_534
# Keeps takes without end and tells each number once it is kept.
KEEPER = """
import sys
from pathlib import Path
from threading import Barrier
from rhythmtrain.storage.history.history import open_history
from rhythmtrain.storage.history.take_record import TakeRecord
from tests.simulate.kept_takes import kept_take
first, count = int(sys.argv[2]), int(sys.argv[3])
with open_history(Path(sys.argv[1])) as history:
    for number in range(first, first + count):
        print(number, history.keep(kept_take(number)), flush=True)
"""


def keeper(folder: Path, first: int, count: int) -> subprocess.Popen[str]:
    """Start a process that keeps takes ``first`` to ``first + count``, and tells their numbers."""
    words = [sys.executable, "-c", KEEPER, str(folder), str(first), str(count)]
    return subprocess.Popen(words, stdout=subprocess.PIPE, text=True, cwd=ROOT)


def keep(folder: Path, record: TakeRecord) -> None:
    """Keep a take and close."""
    with open_history(folder) as history:
        history.keep(record)


def whole(folder: Path) -> bool:
    """Return whether SQLite finds nothing wrong in the file, links between tables included."""
    with closing(connect(folder / FILE_NAME)) as connection:
        found = connection.execute("PRAGMA integrity_check").fetchall()
        return found == [("ok",)] and not connection.execute("PRAGMA foreign_key_check").fetchall()


@contextmanager
def disk_with(room: int) -> Iterator[None]:
    """Let no file grow beyond ``room`` bytes: that stands for a disk that is full."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("told", [1, 7, 30])
def test_a_process_that_is_killed_loses_no_take_it_had_kept(tmp_path: Path, told: int) -> None:
    """SIGKILL in the middle of writing: what was kept stays, the next one is whole or not there."""
    with keeper(tmp_path, 0, 10_000) as process:
        assert process.stdout is not None
        lines = [process.stdout.readline() for _ in range(told)]
        process.kill()
        lines += process.stdout.readlines()
    assert process.returncode == -signal.SIGKILL
    numbers = [line.split() for line in lines if line.endswith("\n")]
    kept = {int(number): int(take) for number, take in numbers}
    assert len(kept) >= told
    said: list[str] = []
    with open_history(tmp_path, say=said.append) as history:
        takes = {take.id: take.record for take in history.takes()}
        for number, take in kept.items():
            assert takes[take] == kept_take(number)
        assert len(takes) - len(kept) in (0, 1)
        assert sum(day.takes for day in history.bar_days("kitchen-rag") if day.bar == 1) == len(
            takes
        )
    assert said == []
    assert whole(tmp_path)


def test_two_processes_at_once_lose_nothing(tmp_path: Path) -> None:
    """Two windows, one history; both begin in the same moment with no file there."""
    each = 40
    processes = [keeper(tmp_path, first, each) for first in (0, 1000, 2000, 3000)]
    for process in processes:
        out, _ = process.communicate(timeout=300)
        assert process.returncode == 0
        assert len(out.splitlines()) == each
    with open_history(tmp_path) as history:
        assert len(history.summaries()) == len(processes) * each
        days = history.bar_days("kitchen-rag")
        assert sum(day.takes for day in days if day.bar == 1) == len(processes) * each
    assert whole(tmp_path)


def test_who_opens_the_first_history_together_gets_it(tmp_path: Path) -> None:
    """The page asks for the days and for the takes at once, on the first day and ever after."""

    def reads(folder: Path, gate: Barrier) -> int:
        gate.wait()
        with open_history(folder) as history:
            return len(history.summaries())

    together = 4
    with ThreadPoolExecutor(together) as readers:
        for number in range(40):
            gate = Barrier(together)
            asked = [(tmp_path / str(number), gate)] * together
            assert list(readers.map(lambda each: reads(*each), asked)) == [0] * together


def test_who_reads_sees_whole_takes_while_another_writes(tmp_path: Path) -> None:
    """A list on one screen, a take being kept on another."""
    with open_history(tmp_path) as reader, open_history(tmp_path) as writer:
        writer.keep(kept_take(0))
        writer.keep(kept_take(1))
        takes = reader.takes()
        assert next(takes).id == 2
        writer.keep(kept_take(2))
        writer.delete(1)
        assert list(takes) == []
        assert [each.id for each in reader.summaries()] == [3, 2]


def test_a_writer_who_never_ends_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """After a while one sentence, not a traceback; nothing of the take is there."""
    monkeypatch.setattr("rhythmtrain.storage.history.table.BUSY_S", 0.05)
    with open_history(tmp_path) as history, closing(connect(tmp_path / FILE_NAME)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(FileError, match="another rhythmtrain is writing: wait until"):
            history.keep(kept_take())
        other.rollback()
        assert history.summaries() == ()
        assert history.keep(kept_take()) == 1


def test_a_full_disk_keeps_nothing_of_the_take_and_loses_none_before(tmp_path: Path) -> None:
    """One sentence with the remedy; once there is room it goes on."""
    with open_history(tmp_path) as history:
        for number in range(3):
            history.keep(kept_take(number))
        log = tmp_path / f"{FILE_NAME}-wal"
        large = kept_take(3, title="x" * 900_000)
        with (
            pytest.raises(FileError, match="make room, or set RHYTHMTRAIN_HOME"),
            disk_with(log.stat().st_size + 20_000),
        ):
            history.keep(large)
        assert [each.id for each in history.summaries()] == [3, 2, 1]
        assert history.keep(large) == 4
    assert whole(tmp_path)


def test_a_disk_with_no_room_for_the_first_take_leaves_no_half_history(tmp_path: Path) -> None:
    """The first command on a full disk; the second, after tidying up, works."""
    for room in (0, 5_000, 40_000):
        with disk_with(room), pytest.raises(FileError, match="make room"):
            keep(tmp_path, kept_take(title="x" * 100_000))
    with open_history(tmp_path) as history:
        assert history.summaries() == ()
        assert history.keep(kept_take()) == 1
    assert whole(tmp_path)


def test_a_database_that_may_not_grow_says_that_the_disk_is_full(tmp_path: Path) -> None:
    """SQLite's own word for a full disk."""
    with closing(connect(tmp_path / FILE_NAME)) as connection:
        connection.execute("PRAGMA max_page_count = 2")
        with (
            pytest.raises(FileError, match="the disk is full: make room, or set"),
            told_of(tmp_path / FILE_NAME),
        ):
            migrate(connection, tmp_path / FILE_NAME)
        assert connection.execute("SELECT count(*) FROM sqlite_schema").fetchone() == (0,)


def test_no_part_of_a_take_stands_without_it(tmp_path: Path) -> None:
    """Its onsets, bars and entries go with it, and none can be there for a take that is not."""
    with open_history(tmp_path) as history:
        number = history.keep(kept_take())
        with closing(connect(tmp_path / FILE_NAME)) as connection:
            with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
                connection.execute("INSERT INTO bars VALUES (99, 1, 1, 0, 0, NULL, NULL)")
            history.delete(number)
            for table in ("played", "bars", "entries", "rhythms", "bar_days", "entry_days"):
                count = connection.execute(f"SELECT count(*) FROM {table}")  # noqa: S608
                assert count.fetchone() == (0,), table


def test_a_history_that_was_deleted_meanwhile_begins_anew(tmp_path: Path) -> None:
    """Somebody tidied up: the take just played is kept where it will be found."""
    with open_history(tmp_path) as history:
        history.keep(kept_take(0))
        for path in tmp_path.iterdir():
            path.unlink()
        history.keep(kept_take(1))
    with open_history(tmp_path) as history:
        assert [take.record for take in history.takes()] == [kept_take(1)]


@contextmanager
def as_nobody() -> Iterator[Path]:
    """Give a folder that others made, to a person without rights where that can be."""
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        folder.chmod(0o755)
        with open_history(folder / "kept") as history:
            history.keep(kept_take())
        root = os.geteuid() == 0
        for path in (folder, folder / "kept", folder / "kept" / FILE_NAME):
            path.chmod(0o555 if path.is_dir() else 0o444)
        if root:
            os.seteuid(NOBODY)
        try:
            yield folder
        finally:
            if root:
                os.seteuid(0)
            for path in (folder, folder / "kept"):
                path.chmod(0o755)


@pytest.mark.parametrize("name", ["kept", "new"])
def test_a_folder_one_may_not_write_to_is_said_plainly(name: str) -> None:
    """One sentence that says where else; whether or not a history is there already."""
    with as_nobody() as folder:
        before = sorted(path.name for path in folder.rglob("*"))
        with pytest.raises(FileError, match=r"you may not .*write there: (allow it|give another)"):
            keep(folder / name, kept_take(1))
        assert sorted(path.name for path in folder.rglob("*")) == before


def test_a_file_in_the_place_of_the_folder_is_said_plainly(tmp_path: Path) -> None:
    """RHYTHMTRAIN_HOME names a file."""
    (tmp_path / "home").write_bytes(b"")
    with pytest.raises(FileError, match=r"cannot write .*home"):
        open_history(tmp_path / "home")


def test_a_folder_in_the_place_of_the_file_is_said_plainly(tmp_path: Path) -> None:
    """Somebody made a folder of that name."""
    (tmp_path / FILE_NAME).mkdir()
    with pytest.raises(FileError, match=r"you may not read and write there: allow it, or set"):
        open_history(tmp_path)


def test_an_error_of_our_own_is_not_blamed_on_the_file(tmp_path: Path) -> None:
    """A closed connection is a mistake in the program."""
    connection = sqlite3.connect(tmp_path / "x.sqlite")
    connection.close()
    with pytest.raises(sqlite3.ProgrammingError), told_of(tmp_path):
        connection.execute("SELECT 1")
