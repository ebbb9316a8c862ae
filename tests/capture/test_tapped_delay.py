"""The sound delay as tapped to a click."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.capture.tapped_delay import tapped_delay
from rhythmtrain.errors import TakeError

CLICKS = [0.75 * number for number in range(28)]


def _taps(delay_s: float, uneven_s: float = 0.0, seed: int = 1) -> list[float]:
    random = np.random.default_rng(seed)
    return [click + delay_s + float(random.normal(0, uneven_s)) for click in CLICKS[4:]]


@given(st.floats(-0.1, 0.4))
def test_even_taps_give_their_distance_from_the_click(delay_s: float) -> None:
    """Also where headphones without a cable make it nearly half a second, and for early tappers."""
    found = tapped_delay(CLICKS, _taps(delay_s))
    assert found.delay_s == pytest.approx(delay_s, abs=1e-9)
    assert found.error_s == pytest.approx(0.0, abs=1e-9)
    assert found.taps == 24


def test_the_error_told_covers_the_truth_nineteen_times_in_twenty() -> None:
    """A number without a true error is worth nothing."""
    inside = 0
    for seed in range(400):
        found = tapped_delay(CLICKS, _taps(0.08, 0.02, seed))
        inside += abs(found.delay_s - 0.08) <= found.error_s
    assert 0.88 <= inside / 400 <= 0.99


def test_one_slip_moves_nothing() -> None:
    """A single tap beside the beat is not the machine's delay."""
    taps = _taps(0.05)
    taps[7] += 0.2
    assert tapped_delay(CLICKS, taps).delay_s == pytest.approx(0.05)


def test_taps_before_the_beat_was_found_are_left_out() -> None:
    """The first ones look for it."""
    early = [click + 0.3 for click in CLICKS[:3]]
    assert tapped_delay(CLICKS, [*early, *_taps(0.05)]).taps == 24


@pytest.mark.parametrize("taps", [[], _taps(0.05)[:7]])
def test_too_few_taps_are_refused(taps: list[float]) -> None:
    """Nothing is kept that a handful of taps says."""
    with pytest.raises(TakeError, match=f"only {len(taps)} taps were heard, 8 are needed"):
        tapped_delay(CLICKS, taps)


def test_taps_too_uneven_to_tell_are_refused() -> None:
    """Better none than a wrong one for months."""
    with pytest.raises(TakeError, match="too uneven to tell the sound delay"):
        tapped_delay(CLICKS, _taps(0.05, 0.15))
