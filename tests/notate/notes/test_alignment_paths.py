"""The two shortest paths, against every path there is on small cases."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.notate.notes.paths import banded_path, framed_path

OUTSIDE, PENALTY = 0.5, 0.1


def _price(cost: np.ndarray, first: int, steps: tuple[int, ...]) -> float:
    """Return what the path from (first, 0) by ``steps`` costs, or infinity where it is none."""
    place, total = 0, float(cost[first, 0])
    for number, step in enumerate(steps, start=first + 1):
        place += step
        if place >= cost.shape[1]:
            return float("inf")
        total += float(cost[number, place]) + (PENALTY if step != 1 else 0.0)
    if place != cost.shape[1] - 1:
        return float("inf")
    return total + OUTSIDE * float(cost.shape[0] - 1 - len(steps))


@given(st.integers(0, 10**6), st.integers(3, 7), st.integers(2, 5))
def test_no_other_framed_path_is_cheaper(seed: int, recorded: int, written: int) -> None:
    """Brute force: every start, every length, every step."""
    cost = np.random.default_rng(seed).random((recorded, written)).astype(np.float32)
    best = min(
        _price(cost, first, steps)
        for first in range(recorded)
        for length in range(recorded - first)
        for steps in product((0, 1, 2), repeat=length)
    )
    if not np.isfinite(best):
        return
    pairs = framed_path(cost, outside=OUTSIDE, penalty=PENALTY)
    steps = tuple(int(step) for step in np.diff(pairs[:, 1]))
    assert (np.diff(pairs[:, 0]) == 1).all()
    assert _price(cost, int(pairs[0, 0]), steps) == pytest.approx(best, abs=1e-4)


@pytest.mark.parametrize(("before", "after"), [(0, 0), (7, 0), (0, 9), (6, 12)])
def test_noise_at_the_ends_is_left_out(before: int, after: int) -> None:
    """However long somebody claps, the last note stays where it is."""
    cost = np.full((before + 20 + after, 20), 0.9, np.float32)
    cost[before : before + 20][np.eye(20, dtype=bool)] = 0.1
    pairs = framed_path(cost, outside=OUTSIDE, penalty=PENALTY)
    assert pairs[0].tolist() == [before, 0]
    assert pairs[-1].tolist() == [before + 19, 19]


def test_the_band_follows_a_recording_that_lingers() -> None:
    """A held chord costs a few steps and loses nothing after it."""
    rng = np.random.default_rng(2)
    written = rng.standard_normal((40, 12)).astype(np.float32)
    written /= np.linalg.norm(written, axis=1, keepdims=True)
    played = np.repeat(np.arange(40), np.where(np.arange(40) == 15, 6, 1))
    centres = np.rint(np.linspace(0, played.size - 1, 40)).astype(np.int64)
    path = banded_path(written[played], written, centres, half=8, penalty=PENALTY)
    assert (np.diff(path, axis=0) >= 0).all()
    assert (played[path[:, 1]] == path[:, 0]).mean() > 0.95
    assert set(path[:, 0].tolist()) == set(range(40))


def test_the_band_never_leaves_the_recording() -> None:
    """Centres beyond either end are looked for inside."""
    frames = np.eye(12, dtype=np.float32)[np.arange(30) % 12]
    centres = np.arange(30) + 3
    path = banded_path(frames, frames, centres.astype(np.int64), half=5, penalty=PENALTY)
    assert path[:, 1].min() >= 0
    assert path[:, 1].max() <= 29
    assert (path[:, 0] == path[:, 1]).mean() > 0.9
