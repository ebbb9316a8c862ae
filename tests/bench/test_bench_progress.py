"""Years of practice are told of at once, the start of the program included."""

import os
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from rhythmtrain.storage.history.history import open_history
from rhythmtrain.storage.history.lines import line_of
from tests.simulate.kept_takes import kept_take

TAKES, PASSAGES = 10_000, 8
SECONDS = 1.5


@pytest.mark.bench
def test_progress_over_ten_thousand_takes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Eight passages, eight takes a day, for three years until today."""
    now = datetime.now(UTC)
    lines = (
        line_of(
            kept_take(
                number,
                passage=f"rag {number % PASSAGES}",
                speed=(0.5, 0.6, 0.7)[number % 3],
                played_at=now - number * timedelta(hours=3),
            )
        )
        for number in range(TAKES)
    )
    with open_history(tmp_path) as history:
        history.import_lines(lines)
    runs = {
        "all": timed(tmp_path, "progress"),
        "one": timed(tmp_path, "progress", "rag 3"),
        "help": timed(tmp_path, "--help"),
    }
    with capsys.disabled():
        print("\n" + ", ".join(f"{name} {least:.2f} s" for name, least in runs.items()))  # noqa: T201
    assert runs["all"] <= SECONDS
    assert runs["one"] <= SECONDS


def timed(home: Path, *words: str) -> float:
    """Return how many seconds the command takes, the least of five times."""
    command = [sys.executable, "-m", "rhythmtrain", *words]
    environment = os.environ | {"RHYTHMTRAIN_HOME": str(home)}
    found = []
    for _ in range(5):
        begun = time.perf_counter()
        subprocess.run(command, check=True, capture_output=True, env=environment)
        found.append(time.perf_counter() - begun)
    return min(found)
