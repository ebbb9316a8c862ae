"""How fast claps are matched to notes, 1 000 to 100 000 of them, against mir_eval's matcher.

``pytest -m bench tests/bench/test_bench_matching.py`` prints both in one run.  mir_eval's is the
reference for how many can match at all (maximum matching, any order); ours keeps the order.
"""

import time
from collections.abc import Callable
from functools import partial

import mir_eval
import numpy as np
import pytest
from numpy.typing import NDArray
from pytest_benchmark.fixture import BenchmarkFixture

from rhythmtrain.assess.matching.matching import pairs, windows_s

pytestmark = pytest.mark.bench
SIZES = (1_000, 10_000, 100_000)
LONGEST_S = 2.0
NEAR_LINEAR = 3.0
Row = NDArray[np.float64]


def events(size: int, shortest_s: float) -> tuple[Row, Row]:
    """Return ``size`` notes and the claps of a careless player, a tenth missed."""
    rng = np.random.default_rng(size)
    notes = np.cumsum(rng.choice([shortest_s, 0.25, 0.5, 0.75], size))
    played = np.sort(notes + rng.normal(0, 0.02, size))
    return notes, played[rng.random(size) >= 0.1]


def spent(work: Callable[[], object]) -> float:
    """Return the seconds that ``work`` takes, the best of three."""
    needed = []
    for _ in range(3):
        begin = time.perf_counter()
        work()
        needed.append(time.perf_counter() - begin)
    return min(needed)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("shortest_s", [0.25, 0.08])
def test_matching_time(benchmark: BenchmarkFixture, size: int, shortest_s: float) -> None:
    """A hundred thousand in at most two seconds, also where windows overlap."""
    notes, played = events(size, shortest_s)
    windows = windows_s(notes)
    found, _ = benchmark(pairs, notes, played, windows)
    assert len(found) > 0.85 * size
    assert spent(lambda: pairs(notes, played, windows)) < LONGEST_S


@pytest.mark.parametrize("size", SIZES)
def test_the_reference_in_the_same_run(benchmark: BenchmarkFixture, size: int) -> None:
    """No slower than mir_eval, and nearly as many pairs though in order."""
    notes, played = events(size, 0.25)
    window = np.full(size, 0.1)
    most = benchmark(mir_eval.util.match_events, notes, played, 0.1)
    found, _ = pairs(notes, played, window)
    assert 0.99 * len(most) <= len(found) <= len(most)
    reference = spent(lambda: mir_eval.util.match_events(notes, played, 0.1))
    assert spent(lambda: pairs(notes, played, window)) < reference


def test_time_grows_with_the_number_of_events() -> None:
    """Ten times the events in at most thirty times the time: near-linear."""
    needed = []
    for size in SIZES[1:]:
        notes, played = events(size, 0.08)
        windows = windows_s(notes)
        needed.append(spent(partial(pairs, notes, played, windows)))
    assert needed[1] < 10 * NEAR_LINEAR * needed[0]
