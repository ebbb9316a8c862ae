"""Repeats and cuts between notes and recording are found, not stretched over."""

from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.notate.notes.played_order import Prices, jumping_path, order_played, runs_of
from tests.simulate.mapping_trials import heard, notes_of, sounding_of
from tests.simulate.performances import HELD_OUT, Performed, Runs, perform, perform_in_order

PRICES = Prices(0.5, 0.1, 0.7)
BARS = 24
ORDERS: tuple[Runs, ...] = (((0, 7), (0, 23)), ((0, 7), (16, 23)), ((0, 11), (8, 23)), ((4, 17),))


Floats = NDArray[np.float64]


def _found(played: Performed, written: Performed) -> Runs | None:
    bars: Floats = np.arange(written.piece.bars, dtype=np.float64) * written.piece.beats
    sounding = sounding_of(heard(played.sound, played.rate))
    return order_played(sounding, notes_of(written.piece), bars)


def _share_found(seeds: range) -> tuple[float, float]:
    """Return the share of orders found to the bar, and of those a bar beside at most."""
    exact, near = [], []
    for seed in seeds:
        written = perform(seed, expressive=True, bars=BARS)
        for order in ORDERS:
            played = perform_in_order(seed, order, expressive=True, bars=BARS, applause_s=5.0)
            found = _found(played, written)
            runs = found or ()
            same = len(runs) == len(order)
            exact.append(runs == order)
            near.append(same and bool(np.abs(np.subtract(runs, order)).max() <= 1))
    return float(np.mean(exact)), float(np.mean(near))


def test_what_is_repeated_or_left_out_is_found() -> None:
    """Eight bars twice, eight left out, four twice, the ends missing."""
    assert _share_found(range(20, 21)) >= (0.75, 0.75)


@pytest.mark.long
def test_orders_are_found_on_a_piano_never_tuned_on() -> None:
    """Most to the bar; the others a bar beside at a jump, where bars are alike."""
    exact, near = _share_found(range(HELD_OUT + 300, HELD_OUT + 312))
    assert exact >= 0.8
    assert near >= 0.9


@pytest.mark.parametrize("seed", range(HELD_OUT + 310, HELD_OUT + 312))
def test_expressive_playing_straight_through_is_no_cut(seed: int) -> None:
    """A held note or a rushed bar is not taken for one."""
    played = perform(seed, expressive=True, bars=BARS, applause_s=6.0)
    assert _found(played, played) is None


def test_notes_of_another_piece_have_no_order() -> None:
    """They are refused by the alignment, with its own sentence."""
    played = perform(HELD_OUT + 320, expressive=True, bars=BARS)
    assert _found(played, perform(HELD_OUT + 321, expressive=True, bars=BARS)) is None


def _price(cost: np.ndarray, starts: list[int], first: int, places: tuple[int, ...]) -> float:
    """Return what the path through ``places``, one a frame from ``first`` on, costs by the rules."""
    recorded, written = cost.shape
    ends = [*(start - 1 for start in starts[1:]), written - 1]
    if places[0] not in starts or places[-1] not in ends:
        return float("inf")
    total = 0.5 * (recorded - len(places)) + 0.7 * ((places[0] != 0) + (places[-1] != written - 1))
    for early, late in pairwise(places):
        if late - early in (0, 1, 2):
            total += 0.0 if late - early == 1 else 0.1
        elif early in ends and late in starts:
            total += 0.7
        else:
            return float("inf")
    return float(total) + sum(float(cost[first + n, place]) for n, place in enumerate(places))


@given(st.integers(0, 10**6), st.integers(2, 5), st.sampled_from([(0, 2), (0, 1, 3), (0,)]))
def test_no_other_jumping_path_is_cheaper(
    seed: int, recorded: int, starts: tuple[int, ...]
) -> None:
    """Brute force: every start, every length, every row of places."""
    cost = np.random.default_rng(seed).random((recorded, 4)).astype(np.float32)
    found = jumping_path(cost, np.array(starts), PRICES)
    best = min(
        _price(cost, list(starts), first, places)
        for first in range(recorded)
        for length in range(1, recorded - first + 1)
        for places in product(range(4), repeat=length)
    )
    assume(best < np.inf)
    assert found.price == pytest.approx(best, abs=1e-5)
    places = tuple(found.pairs[:, 1].tolist())
    own = _price(cost, list(starts), int(found.pairs[0, 0]), places)
    assert own == pytest.approx(found.price, abs=1e-5)


def test_runs_are_read_off_a_path() -> None:
    """Back to bar 1 from the end of bar 2, then straight on."""
    places = np.array([0, 1, 2, 3, 0, 1, 3, 4, 4, 5])
    pairs = np.stack((np.arange(10), places), axis=1)
    assert runs_of(pairs, np.array([0, 2, 4])) == ((0, 1), (0, 2))
