"""What is known of a share, held against scipy and against laws."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import betainc

from rhythmtrain.coach.estimate import Estimate, beta_below, estimate

DAY = date(2026, 3, 1)
COUNTS = st.floats(0.0, 400.0)


@given(st.floats(0.001, 0.999), st.floats(0.5, 400.0), st.floats(0.5, 400.0))
def test_the_distribution_is_the_one_that_scipy_computes(x: float, a: float, b: float) -> None:
    """The number decides whether one goes on, so it has to be right."""
    assert beta_below(x, a, b) == pytest.approx(betainc(a, b, x), abs=1e-9)


@given(st.floats(0.01, 0.99), COUNTS, COUNTS, st.floats(0.0, 5.0))
def test_one_more_right_run_never_makes_anything_less_likely(
    share: float, right: float, wrong: float, more: float
) -> None:
    """Whoever plays better is never sent back for it."""
    before = Estimate(right, wrong).beyond(share)
    assert Estimate(right + more, wrong).beyond(share) >= before - 1e-9
    assert Estimate(right, wrong + more).beyond(share) <= before + 1e-9


def test_two_right_runs_are_enough_to_go_on_and_one_is_not() -> None:
    """What the usual numbers mean: P(share >= .7) >= .65 is two of two, or five of six."""
    enough = {(1, 1): False, (2, 2): True, (3, 4): False, (5, 6): True, (4, 6): False}
    for (right, runs), goes_on in enough.items():
        assert (Estimate(right, runs - right).beyond(0.7) >= 0.65) is goes_on, (right, runs)


def test_runs_count_half_after_so_many_nights() -> None:
    """What was not played for weeks is known less surely."""
    rows = [(DAY, 4, 3)]
    assert estimate(rows, DAY, 7) == Estimate(3, 1)
    later = estimate(rows, DAY + timedelta(days=7), 7)
    assert (later.right, later.wrong) == pytest.approx((1.5, 0.5))
    assert estimate(rows, DAY - timedelta(days=1), 7) == Estimate()


def test_only_the_last_runs_count_where_there_is_a_window() -> None:
    """Who learns is not held back by how it began; a row partly inside counts by its share."""
    rows = [(DAY, 10, 0), (DAY, 4, 2), (DAY, 4, 4)]
    assert estimate(rows, DAY, 7, 6) == Estimate(5, 1)
    assert estimate(rows, DAY, 7).wrong == 12


@given(
    st.lists(st.tuples(st.integers(0, 30), st.integers(1, 4), st.integers(0, 4)), min_size=1),
    st.integers(1, 12),
    st.floats(0.05, 0.95),
)
def test_a_right_run_at_the_end_never_lowers_what_is_known(
    rows: list[tuple[int, int, int]], window: int, share: float
) -> None:
    """Also where it pushes an older one out of the window."""
    days = sorted((DAY + timedelta(days=d), runs, min(right, runs)) for d, runs, right in rows)
    today = DAY + timedelta(days=31)
    before = estimate(days, today, 7, window).beyond(share)
    after = estimate([*days, (today, 1, 1)], today, 7, window).beyond(share)
    assert after >= before - 1e-9


def test_the_interval_holds_the_share_as_often_as_it_says() -> None:
    """Half of Beta(1, 1) lies between a quarter and three quarters."""
    low, high = Estimate().between(0.5)
    assert (low, high) == pytest.approx((0.25, 0.75), abs=1e-9)
    low, high = Estimate(8, 2).between()
    assert betainc(9, 3, high) - betainc(9, 3, low) == pytest.approx(0.9, abs=1e-6)
