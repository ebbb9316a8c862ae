"""Years of practice are told of at once."""

import time
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest

from rhythmtrain.storage.history.history import open_history
from rhythmtrain.storage.history.lines import line_of
from tests.simulate.kept_takes import kept_take

TAKES = 100_000
PASSAGES = 10


def timed(what: Callable[[], object]) -> float:
    """Return how many seconds something takes."""
    begun = time.perf_counter()
    what()
    return time.perf_counter() - begun


@pytest.mark.long
def test_progress_over_a_hundred_thousand_takes_comes_in_a_second(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Thirty takes a day for nine years, of ten passages in turn, in three tempi."""
    lines = (
        line_of(
            kept_take(
                number,
                passage=f"rag {number * PASSAGES // TAKES}",
                speed=(0.5, 0.6, 0.7)[number % 3],
                apart=timedelta(minutes=48),
            )
        )
        for number in range(TAKES)
    )
    with open_history(tmp_path) as history:
        written_s = timed(lambda: history.import_lines(lines))
    size_mb = sum(path.stat().st_size for path in tmp_path.iterdir()) / 1e6

    def progress() -> None:
        with open_history(tmp_path) as history:
            assert len(history.passages()) == PASSAGES
            assert sum(day.takes for day in history.tempo_days("rag 3")) == TAKES // PASSAGES
            assert len(history.bar_days("rag 3")) > 1000
            assert history.entry_days("rag 3")
            assert len(history.summaries(limit=100)) == 100

    def everything() -> None:
        with open_history(tmp_path) as history:
            for kept in history.passages():
                history.bar_days(kept.passage)
                history.entry_days(kept.passage)
                history.tempo_days(kept.passage)

    one_s, all_s = timed(progress), timed(everything)
    now = datetime(2040, 1, 1, tzinfo=UTC)
    with open_history(tmp_path) as history:
        keep_s = timed(lambda: history.keep(kept_take(1, passage="rag 3", played_at=now)))
        recent_s = timed(lambda: history.bar_days("rag 3", date(2040, 1, 1)))
    with capsys.disabled():
        print(  # noqa: T201  (the measurement)
            f"\n{TAKES} takes, {size_mb:.0f} MB, written in {written_s:.0f} s: one passage "
            f"{one_s:.3f} s, all {all_s:.3f} s, one more take kept {1000 * keep_s:.1f} ms, "
            f"one day {1000 * recent_s:.1f} ms"
        )
    assert one_s < 1
    assert all_s < 1
