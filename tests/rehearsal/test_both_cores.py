"""Many jobs on all cores: every answer in its place, and nobody left behind."""

import os

import pytest

from rhythmtrain.errors import DrillError, FileError, RhythmtrainError
from rhythmtrain.rehearsal.both_cores import on_all_cores
from rhythmtrain.rehearsal.told import Progress, quietly


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
    assert reports == [(1, 4), (2, 4), (3, 4), (4, 4)]


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
