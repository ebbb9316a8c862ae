"""Powers in cells of 5 ms: the same however the sound comes in."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.signal import butter, sosfilt

from rhythmtrain.hearing.bleed.cells import CELL_S, LOWEST_HZ, Powers, told_of

RATES = (32_000, 44_100, 48_000)


def _whole(sound: np.ndarray, rate: int) -> np.ndarray:
    high = sosfilt(butter(2, LOWEST_HZ, "high", fs=rate, output="sos"), sound)
    edges = np.rint(np.arange(int(len(sound) / rate / CELL_S) + 1) * (CELL_S * rate)).astype(int)
    total = np.concatenate([[0.0], np.cumsum(np.square(high))])
    cells: np.ndarray = np.diff(total[np.minimum(edges, len(sound))]) / (CELL_S * rate)
    return cells


@settings(max_examples=30, deadline=None)
@given(
    cuts=st.lists(st.integers(0, 20_000), max_size=5),
    count=st.integers(300, 20_000),
    rate=st.sampled_from(RATES),
)
def test_stretches_of_any_length_give_the_cells_of_the_whole(
    cuts: list[int], count: int, rate: int
) -> None:
    """Where a stretch ends, no clap is made louder or softer."""
    sound = np.random.default_rng(count).standard_normal(count).astype(np.float32)
    powers = Powers(rate)
    places = sorted({0, count, *(cut for cut in cuts if cut < count)})
    for low, high in pairwise(places):
        powers.feed(sound[low:high])
    expected = _whole(sound, rate)
    assert powers.cells[: len(expected)] == pytest.approx(expected, rel=1e-6, abs=1e-9)
    assert abs(len(powers.cells) - len(expected)) <= 1


def test_nothing_heard_is_silence() -> None:
    """A take shorter than a cell has one, and it is empty."""
    powers = Powers(44_100)
    powers.feed(np.ones(10, np.float32))
    assert powers.cells == pytest.approx([0.0], abs=1e-9)


def test_starts_of_the_bleed_are_told_within_thirty_milliseconds() -> None:
    """Near them more is asked of a clap."""
    bleed = np.full(400, 1e-6)
    bleed[100:110] = bleed[300:310] = 1.0
    told = told_of(np.full(400, 1e-3), np.full(400, 1e-4), bleed)
    assert told.starts.tolist() == [100, 300]
    cells = np.array([93, 94, 106, 107, 200, 299])
    assert told.near_starts(cells).tolist() == [False, True, True, False, False, True]
