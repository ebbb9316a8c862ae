"""A take at another speed than was said is told the speed that it has; another piece is not."""

from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.rehearsal.checking.check import CheckWish, check_file
from rhythmtrain.rehearsal.checking.checked import Asked, judged
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.rehearsal.conftest import Written


@pytest.fixture
def faster_s(times_s: list[float]) -> list[float]:
    """Return the rag as a careful player plays it a fifth faster."""
    return [time_s / 1.2 for time_s in times_s]


def test_the_speed_that_was_played_is_told(
    rag: Path, faster_s: list[float], written: Written
) -> None:
    """The student was too fast: neither the passage nor the bars are wrong."""
    told = check_file(written(faster_s), CheckWish(str(rag), speed=1.0, repeats=2))
    assert "It may be Kitchen Rag at quarter = 86.4, and not at quarter = 72:" in told.failure
    assert told.failure.endswith("say that tempo, or none.")


def test_who_lost_the_click_is_told_to_stay_with_it(rag: Path, faster_s: list[float]) -> None:
    """To a click there is only its tempo."""
    timeline = lay_out(find_passage(str(rag)), Practice(repeats=2))
    take = Take("keys", "keys", tuple(map(Heard, faster_s)), faster_s[-1] + 1)
    settings = Settings(start_s=2.0)
    said = judged(timeline, take, settings, Asked(str(rag), live="")).said.first
    assert said.endswith("listen to the click before you begin, and stay with it.")


def test_another_piece_is_at_no_speed_the_passage(rag: Path, written: Written) -> None:
    """Nobody is sent looking for a tempo."""
    times = np.cumsum(np.tile([0.31, 0.31, 0.93, 0.155, 0.62], 12))
    told = check_file(written(times.tolist()), CheckWish(str(rag), speed=1.0, repeats=2))
    assert told.failure
    assert "It may be" not in told.failure
