"""A folder is changed by one at a time, whoever else is killed or waits."""

import errno
import subprocess
import sys
from pathlib import Path

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.storage.alone import alone_in, held

HOLDER = """
import sys
from pathlib import Path
from rhythmtrain.storage.alone import held
hold = held(Path(sys.argv[1]))
print("holds" if hold else "waits", flush=True)
sys.stdin.read()
"""


def test_what_one_holds_nobody_else_has_until_it_is_let_go(tmp_path: Path) -> None:
    """Nothing lies about afterwards, and another folder is another matter."""
    hold = held(tmp_path)
    assert hold is not None
    assert held(tmp_path) is None
    (tmp_path / "other").mkdir()
    other = held(tmp_path / "other")
    assert other is not None
    other.let_go()
    hold.let_go()
    hold.let_go()
    with alone_in(tmp_path):
        assert held(tmp_path) is None
    again = held(tmp_path)
    assert again is not None
    again.let_go()
    assert [path.name for path in tmp_path.iterdir()] == ["other"]


def test_a_program_that_is_killed_holds_nothing_any_more(tmp_path: Path) -> None:
    """After a power cut nobody has to tidy up by hand."""
    with subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(tmp_path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    ) as other:  # fmt: skip
        assert other.stdout is not None
        assert other.stdout.readline() == "holds\n"
        assert held(tmp_path) is None
        with (
            pytest.raises(FileError, match="another rhythmtrain has been changing"),
            alone_in(tmp_path, 0.0),
        ):
            pass
        other.kill()
        other.wait()
        hold = held(tmp_path)
        assert hold is not None
        hold.let_go()


def test_a_failure_inside_lets_go(tmp_path: Path) -> None:
    """A full disk for one is no wait for all the others."""
    with pytest.raises(ValueError, match="full"), alone_in(tmp_path):
        raise ValueError("full")
    with alone_in(tmp_path, 0.0):
        pass


def test_a_folder_that_is_not_there_is_said_so(tmp_path: Path) -> None:
    """One sentence."""
    with pytest.raises(FileError, match="cannot write"), alone_in(tmp_path / "nowhere"):
        pass


@pytest.mark.skipif(sys.platform == "win32", reason="a system of its own")
def test_a_disk_that_knows_no_locks_keeps_nobody_waiting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Some network drives: what one person does alone goes on as ever."""

    def refused(_opened: int, _how: int) -> None:
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr("fcntl.flock", refused)
    with alone_in(tmp_path), alone_in(tmp_path, 0.0):
        pass
