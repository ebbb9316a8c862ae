"""Which clap belongs to which note: never worse than trying everything, always in order."""

from functools import cache
from itertools import pairwise

import mir_eval
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.assess.matching.matching import pairs, windows_s

Floats = NDArray[np.float64]
TIMES = st.lists(st.integers(0, 200), max_size=7).map(
    lambda steps: np.array(sorted(steps), dtype=np.float64) / 100
)
WIDTHS = st.floats(0.02, 0.4)


def worth(
    notes: NDArray[np.intp], claps: NDArray[np.intp], at: tuple[Floats, Floats, Floats]
) -> float:
    """Return what pairs earn: 1 - |d|/w each."""
    expected, played, width = at
    return float(np.sum(1 - np.abs(played[claps] - expected[notes]) / width[notes]))


def best_worth(expected: Floats, played: Floats, width: Floats) -> float:
    """Return the most that any pairs in order can earn, by trying everything."""

    @cache
    def best(note: int, clap: int) -> float:
        if note == len(expected) or clap == len(played):
            return 0.0
        gain = 1 - abs(played[clap] - expected[note]) / width[note]
        with_it = gain + best(note + 1, clap + 1) if gain > 0 else 0.0
        return max(best(note + 1, clap), best(note, clap + 1), with_it)

    return best(0, 0)


@given(TIMES, TIMES, st.lists(WIDTHS, min_size=7, max_size=7))
def test_no_other_pairs_in_order_are_worth_more(
    expected: Floats, played: Floats, widths: list[float]
) -> None:
    """A good clap is never given away for a worse one."""
    width = np.array(widths[: len(expected)])
    notes, claps = pairs(expected, played, width)
    assert worth(notes, claps, (expected, played, width)) == pytest.approx(
        best_worth(expected, played, width), abs=1e-9
    )


@given(TIMES, TIMES, WIDTHS)
def test_pairs_keep_their_order_and_use_everything_once(
    expected: Floats, played: Floats, width: float
) -> None:
    """Nobody plays the second note before the first."""
    notes, claps = pairs(expected, played, np.full(len(expected), width))
    assert all(b > a for a, b in pairwise(notes.tolist()))
    assert all(b > a for a, b in pairwise(claps.tolist()))
    assert (np.abs(played[claps] - expected[notes]) < width).all()


@given(TIMES, TIMES, WIDTHS)
def test_the_reference_matcher_is_an_upper_bound_on_hits(
    expected: Floats, played: Floats, width: float
) -> None:
    """Maximum matching (mir_eval) may cross in time; ordered pairs can only be as many."""
    notes, _ = pairs(expected, played, np.full(len(expected), width))
    most = mir_eval.util.match_events(expected, played, width) if len(expected) else []
    assert len(notes) <= len(most)


@pytest.mark.parametrize(
    ("expected", "played", "hits"),
    [
        ([0.5, 1.0, 1.5, 2.0], [0.52, 1.06, 1.45, 2.0], [(0, 0), (2, 2), (3, 3)]),
        ([1.00, 1.05], [0.96, 1.02], [(0, 0), (1, 1)]),
        ([1.0], [0.98, 1.02], [(0, 0)]),
        ([1.0], [1.05], [(0, 0)]),
    ],
)
def test_published_cases_of_onset_matching(
    expected: list[float], played: list[float], hits: list[tuple[int, int]]
) -> None:
    """Window of 50 ms, inclusive there: the cases of mir_eval 0.8.2's onset measure."""
    window = np.full(len(expected), 0.05 + 1e-9)
    notes, claps = pairs(np.array(expected), np.array(played), window)
    assert list(zip(notes.tolist(), claps.tolist(), strict=True)) == hits


def test_nearest_first_would_lose_a_pair_that_order_keeps() -> None:
    """The clap nearest to two notes goes where both can have one."""
    notes, claps = pairs(np.array([1.0, 1.05]), np.array([0.96, 1.02]), np.full(2, 0.06))
    assert list(zip(notes.tolist(), claps.tolist(), strict=True)) == [(0, 0), (1, 1)]


def test_windows_are_half_the_shorter_interval_within_60_to_150_ms() -> None:
    """So that a clap can seldom belong to two notes."""
    widths = windows_s(np.array([0.0, 0.1, 0.3, 1.3, 3.0]))
    assert widths == pytest.approx([0.06, 0.06, 0.1, 0.15, 0.15])


@given(TIMES, TIMES, st.integers(0, 6))
def test_a_missing_clap_never_makes_more_matches(
    expected: Floats, played: Floats, lost: int
) -> None:
    """Playing less cannot be playing more of it."""
    width = np.full(len(expected), 0.1)
    fewer = np.delete(played, lost) if lost < len(played) else played
    before = best_worth(expected, played, width)
    assert worth(*pairs(expected, fewer, width), (expected, fewer, width)) <= before + 1e-9
