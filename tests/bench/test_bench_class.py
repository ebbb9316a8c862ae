"""A class of one-minute recordings is heard far faster than it lasts, in the memory of a few."""

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.simulate.class_takes import make_class

PASSAGE, SPEED, REPEATS = "towpath-rag", 0.6, 3
FASTER = 100
CHILD = """
import resource, sys
from pathlib import Path
from rhythmtrain.rehearsal.classes.room import hear_class

if __name__ == "__main__":
    wish = {"speed": float(sys.argv[3]), "repeats": int(sys.argv[4])}
    told = hear_class(Path(sys.argv[1]), sys.argv[2], into=Path(sys.argv[1]) / "heard", typed=wish)
    assert len(told.document["students"]) == int(sys.argv[5]), told.text
    own, theirs = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    print(own.ru_maxrss, theirs.ru_maxrss, own.ru_utime + own.ru_stime + theirs.ru_utime + theirs.ru_stime)
"""


def heard(folder: Path, students: int) -> tuple[float, float, int, int]:
    """Return seconds on the clock, seconds of work, and the most memory (KiB) of both kinds."""
    script = folder.parent / "child.py"
    script.write_text(CHILD, encoding="utf-8")
    words = [sys.executable, script, folder, PASSAGE, SPEED, REPEATS, students]
    begun = time.perf_counter()
    done = subprocess.run(
        [str(word) for word in words], check=True, capture_output=True, text=True, env=os.environ
    )
    own, theirs, work_s = done.stdout.split()
    return time.perf_counter() - begun, float(work_s), int(own), int(theirs)


@pytest.mark.bench
def test_a_class_is_heard_faster_than_it_lasts(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Half of them sent from phones; pages, pictures and sounds included."""
    found = {}
    for students in (6, 24):
        folder = tmp_path / f"class{students}"
        folder.mkdir()
        lasts_s = make_class(folder, PASSAGE, students, speed=SPEED, repeats=REPEATS)
        found[students] = (lasts_s, *heard(folder, students))
    lasts_s, wall_s, work_s, own, theirs = found[24]
    cores = min(os.cpu_count() or 1, 2)
    with capsys.disabled():
        print(  # noqa: T201
            f"\n24 recordings of {lasts_s / 24:.0f} s: {lasts_s / wall_s:.0f} times faster by the "
            f"clock, {cores * lasts_s / work_s:.0f} on {cores} idle cores; at most "
            f"{own / 1024:.0f} and {theirs / 1024:.0f} MB, {found[6][3] / 1024:.0f} and "
            f"{found[6][4] / 1024:.0f} MB for six"
        )
    assert cores * lasts_s / work_s >= FASTER
    assert theirs <= 1.15 * found[6][4]
    assert own <= 1.15 * found[6][3]
