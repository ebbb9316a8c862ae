"""The window that honest players set, held against how people really tap."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.assess.tolerance import INTERVALS_S, LINES_S, line_s, spread_s
from tests.simulate.players import tapping


def away_from_habit(interval_ms: int) -> NDArray[np.float64]:
    """Return how far each tap lies from the median of its own take, in seconds."""
    rows = [
        np.abs(taps - np.median(taps))
        for (_, interval), takes in tapping().items()
        if interval == interval_ms
        for taps in takes
    ]
    return np.concatenate(rows)


def test_all_thirty_people_are_in_the_data() -> None:
    """The lines speak for all of them, not for the few that a reader kept."""
    people = {person for person, _ in tapping()}
    assert len(people) == 30
    assert sum(len(takes) for takes in tapping().values()) == 600


@pytest.mark.parametrize("percent", [95, 99])
@pytest.mark.parametrize("interval_s", INTERVALS_S)
def test_the_lines_are_those_of_the_open_tapping_data(percent: int, interval_s: float) -> None:
    """Baath & Madison 2012: so many of a hundred honest taps lie inside, to the millisecond."""
    away = away_from_habit(round(1000 * interval_s))
    assert line_s(interval_s, percent) == pytest.approx(np.quantile(away, percent / 100), abs=6e-4)


@pytest.mark.parametrize("interval_s", INTERVALS_S)
def test_the_law_of_spread_follows_the_same_data(interval_s: float) -> None:
    """Within a tenth, except below its floor where the law is the more generous."""
    away = away_from_habit(round(1000 * interval_s))
    assert spread_s(interval_s) == pytest.approx(1.4826 * np.median(away), rel=0.15)


def test_a_quick_passage_keeps_the_window_of_the_quickest_data() -> None:
    """No data below 600 ms: whoever plays faster is not judged more strictly."""
    assert line_s(0.25) == LINES_S[95][0]
    assert spread_s(0.25) == pytest.approx(0.020)


def test_uncertain_onsets_widen_the_window() -> None:
    """A bowed note heard to 20 ms must not be called late for that."""
    assert line_s(0.6, 95, uncertainty_s=0.02) == pytest.approx(np.hypot(0.053, 0.0392))


@given(st.floats(0.1, 8), st.floats(0.1, 8))
def test_waiting_longer_never_narrows_the_window(one: float, other: float) -> None:
    """A slow beat is harder to keep."""
    short, long = sorted((one, other))
    for percent in (95, 99):
        assert 0.04 <= line_s(short, percent) <= line_s(long, percent) + 1e-12
    assert line_s(short, 95) < line_s(short, 99)
