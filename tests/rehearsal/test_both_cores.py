"""Many jobs on all cores: every answer in its place, and nobody left behind."""

import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from rhythmtrain.errors import DrillError, FileError, RequestError, RhythmtrainError
from rhythmtrain.rehearsal.both_cores import on_all_cores
from rhythmtrain.rehearsal.told import Progress, quietly

# A busy machine takes its time to start a program.
PATIENCE_S = 120.0


def halved(number: int, progress: Progress) -> int:
    """Return half of an even number; an odd one is a person's mistake, a negative one the end."""
    progress(0, 1, "halving")
    if number < 0:
        os._exit(1)
    if number % 2:
        raise DrillError(f"{number} is odd", line=number)
    return number // 2


def test_answers_and_mistakes_come_in_the_order_of_the_jobs() -> None:
    """One passage that fails must not take another's place, or its tracks."""
    reports: list[tuple[float, float]] = []
    outcomes = on_all_cores(
        halved, [8, 3, 4, 10], lambda done, total, _what: reports.append((done, total))
    )
    assert outcomes[0::2] == [4, 2]
    assert outcomes[3] == 5
    mistake = outcomes[1]
    assert isinstance(mistake, RhythmtrainError)
    assert str(mistake) == "line 3: 3 is odd"
    assert reports == sorted(reports)
    assert reports[-1] == (4, 4)


def slept(_number: int, progress: Progress) -> None:
    """Go on until somebody says stop."""
    while True:
        progress(0, 1, "waiting")
        time.sleep(0.01)


def test_whoever_is_told_of_progress_can_stop_it_in_the_middle_of_a_job() -> None:
    """A teacher who took the wrong passage need not wait for a recording of an hour."""
    told: list[float] = []

    def stop_soon(done: float, _total: float, _what: str) -> None:
        told.append(done)
        if len(told) == 3:
            raise RequestError("stopped")

    with pytest.raises(RequestError, match="stopped"):
        on_all_cores(slept, [1, 2, 3], stop_soon)
    assert told == [0, 0, 0]


KILLED = """
import os, sys, tests.rehearsal.test_both_cores as here
if __name__ == "__main__":
    here.on_all_cores(here.named_and_slept, [sys.argv[1]], here.quietly)
"""


def named_and_slept(path: str, _progress: Progress) -> None:
    """Say which process this is, and hang."""
    Path(path).write_text(str(os.getpid()), encoding="ascii")
    time.sleep(10 * PATIENCE_S)


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="processes are looked up in /proc")
def test_nobody_is_left_behind_where_the_program_is_killed(tmp_path: Path) -> None:
    """A power cut for the program alone: what it started ends with it."""
    child, script = tmp_path / "child", tmp_path / "killed.py"
    script.write_text(KILLED, encoding="utf-8")
    root = Path(__file__).parents[2]
    environment = {**os.environ, "PYTHONPATH": str(root)}
    with subprocess.Popen([sys.executable, str(script), str(child)], env=environment) as program:
        _until(lambda: child.is_file() and child.read_text(encoding="ascii") != "")
        other = Path("/proc") / child.read_text(encoding="ascii")
        assert other.exists()
        program.kill()
        program.wait(timeout=PATIENCE_S)
    _until(lambda: _gone(other))


def _gone(process: Path) -> bool:
    """Return whether a process of /proc has ended; it may go while one looks."""
    try:
        return "Z (zombie)" in (process / "status").read_text(encoding="ascii")
    except OSError:
        return True


def _until(so: Callable[[], bool]) -> None:
    """Wait for what happens in another process."""
    until_s = time.monotonic() + PATIENCE_S
    while time.monotonic() < until_s:
        if so():
            return
        time.sleep(0.05)
    pytest.fail(f"it did not happen within {PATIENCE_S:g} s")


def test_no_jobs_need_no_processes() -> None:
    """A pack in which nothing could be read is told at once."""
    assert on_all_cores(halved, [], quietly) == []


def test_a_process_that_the_system_stops_is_said_plainly() -> None:
    """A small machine runs out of memory; the person is told what to do."""
    with pytest.raises(FileError, match="try fewer passages at once"):
        on_all_cores(halved, [-1, 2], quietly)


def test_a_job_that_brings_its_process_down_stops_no_other() -> None:
    """One damaged recording of a class: it is told of, and everybody else is heard."""
    reports: list[float] = []
    outcomes = on_all_cores(
        halved,
        [8, -1, 3, 4],
        lambda done, _total, _what: reports.append(done),
        what="listening",
        hardy=True,
    )
    assert (outcomes[0], outcomes[3]) == (4, 2)
    assert "that was listening" in str(outcomes[1])
    assert "is odd" in str(outcomes[2])
    assert reports[-1] == 4
