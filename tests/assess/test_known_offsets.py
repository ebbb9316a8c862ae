"""Habit, drift, unevenness and slips are told apart, each blind to the later ones."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.assess.offsets import beyond_s, habit_known_to_s, parts_of, spread_of, theil_sen

TIMES = np.arange(0, 20, 0.5)


def steady(seed: int = 3) -> np.ndarray:
    """Return forty offsets of an even player."""
    return np.random.default_rng(seed).normal(0, 0.012, len(TIMES))


def test_one_slip_makes_nobody_uneven() -> None:
    """The slip is named; the rest of the take stays as good as it was."""
    offsets = steady()
    before = parts_of(TIMES, offsets)
    offsets[7] += 0.3
    after = parts_of(TIMES, offsets)
    assert after.slips.tolist() == [7]
    assert after.unsteady_s == pytest.approx(before.unsteady_s, rel=0.2)
    assert after.habit_s == pytest.approx(before.habit_s, abs=0.004)


def test_running_ahead_of_the_click_is_drift_and_not_unevenness() -> None:
    """Ten milliseconds a second: getting faster by one per cent."""
    parts = parts_of(TIMES, steady() - 0.01 * TIMES)
    assert parts.slope == pytest.approx(-0.01, abs=0.001)
    assert parts.unsteady_s < 0.02
    assert len(parts.slips) == 0


@given(st.floats(-0.2, 0.2))
def test_moving_all_claps_moves_the_habit_by_as_much(by: float) -> None:
    """A sound delay shows in the habit and nowhere else."""
    before, after = parts_of(TIMES, steady()), parts_of(TIMES, steady() + by)
    assert after.habit_s - before.habit_s == pytest.approx(by)
    assert after.slope == pytest.approx(before.slope, abs=1e-9)
    assert after.unsteady_s == pytest.approx(before.unsteady_s, abs=1e-9)


@given(st.permutations(range(len(TIMES))))
def test_the_order_of_the_notes_does_not_matter_to_the_spread(order: list[int]) -> None:
    """A spread is about notes, not about when they came."""
    one, other = spread_of(steady(), 0.0), spread_of(steady()[order], 0.0)
    assert one is not None
    assert other is not None
    assert (one.median_s, one.sd_s) == pytest.approx((other.median_s, other.sd_s))


def test_no_notes_have_no_spread() -> None:
    """Nothing is said of nothing."""
    assert spread_of(np.empty(0), 0.0) is None


def test_a_single_note_has_no_scatter_but_a_wide_habit() -> None:
    """One clap does not show how a person claps."""
    spread = spread_of(np.array([-0.03]), 0.0)
    assert spread is not None
    assert spread.sd_s == 0
    assert spread.high_s - spread.low_s == pytest.approx(0.16)


@pytest.mark.parametrize(("taps", "known"), [(4, 0.055), (8, 0.047), (16, 0.038), (24, 0.032)])
def test_a_habit_is_known_as_finely_as_people_are_like_themselves(taps: int, known: float) -> None:
    """Measured on the open tapping data of Baath & Madison (2012)."""
    assert habit_known_to_s(taps, 0.0) == pytest.approx(known)
    assert habit_known_to_s(taps, 0.02) > known


def test_slopes_are_only_taken_within_a_group() -> None:
    """A leap between two phrases is not getting faster."""
    groups = (TIMES > 10).astype(float)
    assert theil_sen(TIMES, 5 * groups, groups) == 0
    assert theil_sen(np.zeros(3), np.arange(3.0)) == 0


def test_the_slope_of_a_very_long_take_is_found_from_some_of_it() -> None:
    """Work stays bounded for an hour of playing."""
    times = np.arange(0, 3600, 0.25)
    assert theil_sen(times, 0.002 * times, np.zeros(len(times))) == pytest.approx(0.002)


@pytest.mark.parametrize("habit_s", [0.06, -0.06, 0.0])
def test_only_what_lies_beyond_recording_and_habit_is_early_or_late(habit_s: float) -> None:
    """Between the two nothing is; outside, the nearer of them is what it is measured from."""
    low, high = sorted((0.0, habit_s))
    between = [beyond_s(float(late_s), habit_s) for late_s in np.linspace(low, high, 7)]
    assert between == [0.0] * 7
    assert beyond_s(high + 0.1, habit_s) == pytest.approx(0.1)
    assert beyond_s(low - 0.1, habit_s) == pytest.approx(-0.1)
