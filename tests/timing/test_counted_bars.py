"""Bars that are counted but not played: before the passage, between runs, between turns."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.score.passage import Bar, TempoMark
from rhythmtrain.timing.timeline import PlayedBar, Practice, Role, Timeline, lay_out
from rhythmtrain.units import Bpm
from tests.simulate.passages import bar, passage

UPBEAT = bar(0, 3, begins=3)
WHOLE = bar(1, 0, 1, 2, 3)
SHORT = bar(2, 0, 1, 2, ends=3)


def spans(timeline: Timeline, role: Role) -> list[tuple[float, float]]:
    """Return (begins, ends) within their bar of the bars with ``role``."""
    return [
        (float(each.bar.begins), float(each.bar.ends))
        for each in timeline.bars
        if each.role is role
    ]


def metre_goes_on(bars: tuple[PlayedBar, ...]) -> bool:
    """Tell whether each bar begins where the one before it left off."""
    return all(
        before.bar.ends % before.bar.metre.length == after.bar.begins
        for before, after in pairwise(bars)
    )


def test_the_count_in_fills_the_bar_up_to_an_upbeat() -> None:
    """A player with an upbeat on 4 hears 1 2 3 and comes in."""
    timeline = lay_out(passage(UPBEAT, WHOLE), Practice(count_in=1))
    assert spans(timeline, Role.COUNT_IN) == [(0, 3)]


def test_before_a_long_upbeat_a_whole_bar_is_counted_first() -> None:
    """One beat alone gives no tempo."""
    timeline = lay_out(passage(bar(0, 1, 2, 3, begins=1), WHOLE), Practice(count_in=1))
    assert spans(timeline, Role.COUNT_IN) == [(0, 4), (0, 1)]


def test_no_count_in_leaves_the_upbeat_first() -> None:
    """Whoever asks for no count-in gets none."""
    timeline = lay_out(passage(UPBEAT, WHOLE), Practice(count_in=0))
    assert timeline.bars[0].role is Role.PASSAGE
    assert timeline.start == -1


@pytest.mark.parametrize(
    ("bars", "between"),
    [
        ((UPBEAT, WHOLE), [(0, 3)]),
        ((UPBEAT, WHOLE, SHORT), [(3, 4), (0, 3)]),
        ((bar(0, 1, 2, 3, begins=1), WHOLE), [(0, 4), (0, 1)]),
        ((bar(0, 1, 2, 3, begins=1), bar(1, 0, ends=1)), [(1, 4), (0, 1)]),
        ((WHOLE, SHORT), [(3, 4)]),
        ((WHOLE,), []),
    ],
)
def test_the_metre_goes_on_between_runs(
    bars: tuple[Bar, ...], between: list[tuple[float, float]]
) -> None:
    """A last bar that ends early is filled up, so that no beat is swallowed between two runs."""
    timeline = lay_out(passage(*bars), Practice(repeats=2))
    assert spans(timeline, Role.BETWEEN) == between
    assert metre_goes_on(timeline.bars)


def test_counted_bars_between_runs_can_be_asked_for() -> None:
    """A breath of two bars between runs is two whole bars."""
    timeline = lay_out(passage(WHOLE), Practice(repeats=2, between=2))
    assert spans(timeline, Role.BETWEEN) == [(0, 4), (0, 4)]


@pytest.mark.parametrize(
    "bars", [(UPBEAT, WHOLE), (UPBEAT, WHOLE, SHORT), (WHOLE, SHORT), (WHOLE, WHOLE, WHOLE)]
)
@pytest.mark.parametrize("size", [1, 2])
def test_the_metre_goes_on_between_turns(bars: tuple[Bar, ...], size: int) -> None:
    """The answer begins on the same beat of the bar as what it answers, in unbroken time."""
    timeline = lay_out(passage(*bars), Practice(echo=size, repeats=2, count_in=1))
    assert metre_goes_on(timeline.bars)


def test_an_upbeat_that_completes_the_last_bar_is_answered_at_once() -> None:
    """Three beats and an upbeat make a bar: no count is needed between the turns."""
    timeline = lay_out(passage(UPBEAT, WHOLE, SHORT), Practice(echo=2))
    assert Role.BETWEEN not in {each.role for each in timeline.bars}


def test_counted_bars_go_at_the_tempo_they_lead_to() -> None:
    """The count before an answer gives that answer's tempo, not the passage's first."""
    fast = replace(bar(2, 0, begins=0), tempo=TempoMark(Bpm(120)))
    timeline = lay_out(passage(WHOLE, replace(fast, ends=Fraction(3))), Practice(echo=1))
    counted = next(each for each in timeline.bars if each.role is Role.BETWEEN)
    assert timeline.tempo.speed_at(counted.start) == pytest.approx(2)


def test_a_pause_at_the_beginning_leaves_the_count_in_steady() -> None:
    """A pause belongs to the music before it; the count-in is not music."""
    timeline = lay_out(passage(replace(WHOLE, pause=True)), Practice(count_in=1))
    assert timeline.track_seconds(Fraction(0)) == pytest.approx(4)


def test_a_pause_between_bars_holds_the_last_beat() -> None:
    """The beat before a pause lasts about twice as long."""
    timeline = lay_out(passage(WHOLE, replace(WHOLE, pause=True)))
    assert timeline.track_seconds(Fraction(4)) == pytest.approx(5)


def test_too_many_bars_are_refused_with_what_would_fit() -> None:
    """A slip of the finger in --repeats must not fill the memory."""
    long = passage(*(bar(number + 1, 0) for number in range(500)))
    with pytest.raises(RequestError, match="at most 200 fit"):
        lay_out(long, Practice(repeats=300))
