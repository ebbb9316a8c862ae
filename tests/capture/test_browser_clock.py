"""From a browser's event clock to track time."""

import numpy as np
import pytest

from rhythmtrain.capture.browser_clock import browser_clock
from rhythmtrain.errors import TakeError

RATE = 44_100


def readings(
    seconds: float, *, ppm: float = 0.0, scatter_s: float = 0.0, seed: int = 1
) -> list[tuple[float, float]]:
    """Return readings every 60 ms of a page's clock 100 s ahead, which runs ``ppm`` faster."""
    rng = np.random.default_rng(seed)
    context = np.arange(1.0, 1.0 + seconds, 0.06)
    page = 100.0 + context * (1 + ppm * 1e-6) + rng.normal(0, scatter_s, len(context))
    return list(zip(context.tolist(), np.maximum.accumulate(page).tolist(), strict=True))


def test_a_tap_at_a_sound_has_that_sounds_time() -> None:
    """A player who taps exactly with a click is exactly on it."""
    model = browser_clock(readings(10), start_s=2.0, rate=RATE)
    assert model.track_seconds(100.0 + 2.0) == pytest.approx(0.0, abs=1e-9)
    assert model.track_seconds(100.0 + 7.5) == pytest.approx(5.5, abs=1e-9)


def test_scattered_readings_place_a_tap_within_a_millisecond() -> None:
    """Single readings are off by milliseconds; many of them are not."""
    for seed in range(20):
        model = browser_clock(readings(20, scatter_s=0.004, seed=seed), start_s=2.0, rate=RATE)
        # Readings never run backwards, which moves scattered ones up by a little.
        assert model.track_seconds(112.0) == pytest.approx(10.0, abs=0.006)
        assert model.error_s < 0.01


def test_two_clocks_that_run_apart_are_followed() -> None:
    """After ten minutes at 80 millionths the plain difference would be 48 ms wrong."""
    model = browser_clock(readings(600, ppm=80), start_s=1.0, rate=RATE)
    late = 500.0
    page = 100.0 + late * (1 + 80e-6)
    assert model.track_seconds(page) == pytest.approx(late - 1.0, abs=0.002)


def test_a_context_that_never_ran_tells_nothing() -> None:
    """Some browsers give zeros at first: those are no readings."""
    with pytest.raises(TakeError, match="reload the page"):
        browser_clock([(0.0, 5.0), (0.0, 6.0)], start_s=1.0, rate=RATE)
    with pytest.raises(TakeError, match="backwards"):
        browser_clock([(1.0, 6.0), (2.0, 5.0)], start_s=1.0, rate=RATE)
