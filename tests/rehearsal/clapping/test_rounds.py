"""What is said in the counted bar of a loop."""

from pathlib import Path

from rhythmtrain.rehearsal.checking.checked import Asked
from rhythmtrain.rehearsal.clapping.loop import MOST_LINES, Rounds
from rhythmtrain.rehearsal.live.dry_run import Player, played_times
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out


def _loop(rag: Path) -> Timeline:
    return lay_out(find_passage(str(rag)), Practice(speed=0.7, repeats=4, count_in=1, between=1))


def test_each_time_through_is_told_by_itself(rag: Path) -> None:
    """What went wrong the second time is not said after the third."""
    timeline = _loop(rag)
    times = played_times(timeline, Player(uneven_s=0.005))
    second = [note.run == 2 for note in timeline.notes]
    gone = [time for time, mine in zip(times, second, strict=True) if not mine]
    few = [*gone, *[time for time, mine in zip(times, second, strict=True) if mine][:6]]
    rounds = Rounds(timeline, "keys", Asked("rag", live=""))
    assert "Every clap was there and in time." in rounds.said(1, times, 80)
    assert "Every clap was there and in time." in rounds.said(3, few, 80)
    assert "Every clap was there and in time." not in rounds.said(2, few, 80)
    assert rounds.said(2, gone, 80) == ()


def test_it_fits_beside_the_bar(rag: Path) -> None:
    """A few lines, as wide as the window."""
    timeline = _loop(rag)
    times = [time + 0.3 * (n % 5 == 0) for n, time in enumerate(played_times(timeline, Player()))]
    said = Rounds(timeline, "keys", Asked("rag", live="")).said(2, times, 44)
    assert 2 <= len(said) <= MOST_LINES
    assert max(map(len, said)) <= 44
