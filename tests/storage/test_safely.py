"""Files are written whole or not at all."""

import os
from pathlib import Path

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.storage.safely import write_bytes_safely, written_beside


def names(folder: Path) -> list[str]:
    """Return what lies in a folder."""
    return sorted(path.name for path in folder.iterdir())


def test_what_was_given_is_what_is_in_the_file(tmp_path: Path) -> None:
    """The plain case: the bytes are there and nothing else is."""
    write_bytes_safely(tmp_path / "track.mid", b"MThd")
    assert (tmp_path / "track.mid").read_bytes() == b"MThd"
    assert names(tmp_path) == ["track.mid"]


def test_a_file_anyone_could_read_stays_so(tmp_path: Path) -> None:
    """A class reads what its teacher wrote: ordinary permissions, not those of a secret."""
    (tmp_path / "plain").write_bytes(b"")
    write_bytes_safely(tmp_path / "made", b"")
    assert (tmp_path / "made").stat().st_mode == (tmp_path / "plain").stat().st_mode


def test_a_failure_leaves_the_older_file_as_it_was(tmp_path: Path) -> None:
    """Making a track again never costs the one there is; Ctrl-C counts as a failure too."""
    goal = tmp_path / "track.wav"
    goal.write_bytes(b"older")
    for failure in (KeyboardInterrupt, ValueError):
        with pytest.raises(failure):
            half_written(goal, failure)
    assert goal.read_bytes() == b"older"
    assert names(tmp_path) == ["track.wav"]


def half_written(goal: Path, failure: type[BaseException]) -> None:
    """Write a part, then fail."""
    with written_beside(goal) as beside:
        beside.write_bytes(b"half")
        raise failure


def test_a_folder_that_is_not_there_is_named(tmp_path: Path) -> None:
    """One line says which folder, and what to do."""
    goal = tmp_path / "no such" / "track.mid"
    with pytest.raises(
        FileError, match=r"folder .*no such does not exist: make it first, or give another"
    ):
        write_bytes_safely(goal, b"")


@pytest.mark.parametrize("name", ["folder", "pipe"])
def test_what_is_no_file_is_never_replaced(tmp_path: Path, name: str) -> None:
    """`-o .` or a device is refused: a rename would put a file in its place."""
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(FileError, match=f"{name} is not a file: give the name of a file"):
        write_bytes_safely(tmp_path / name, b"")
    assert names(tmp_path) == ["folder", "pipe"]


def test_a_name_too_long_is_said_plainly(tmp_path: Path) -> None:
    """What the system refuses comes as one sentence with the remedy."""
    with pytest.raises(
        FileError, match=r"cannot write .*: the name is too long: give a shorter one"
    ):
        write_bytes_safely(tmp_path / ("a" * 300 + ".mid"), b"")
    assert names(tmp_path) == []


@pytest.mark.skipif(os.geteuid() == 0, reason="the administrator may write everywhere")
def test_a_folder_one_may_not_write_to_is_said_plainly(tmp_path: Path) -> None:
    """A read-only folder gives one line, not a traceback."""
    tmp_path.chmod(0o500)
    with pytest.raises(FileError, match="you may not write there: give another folder"):
        write_bytes_safely(tmp_path / "track.mid", b"")
