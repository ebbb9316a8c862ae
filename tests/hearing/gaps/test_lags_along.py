"""How late the track is, second by second: the same minute by minute as in one piece."""

import numpy as np
import pytest

from rhythmtrain.hearing.gaps.lags_along import lags_along

RATE, LATER = 8000, 2000


def _take(seconds: int, *, jump_s: float | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Return a recording 0.1 s late, and 0.15 s from ``jump_s`` on, and its track."""
    track = np.random.default_rng(seconds).standard_normal(seconds * RATE).astype(np.float32)
    heard = np.concatenate([np.zeros(800, np.float32), track])[: len(track)]
    if jump_s is not None:
        at = round(jump_s * RATE)
        heard[at + 400 :] = heard[at:-400].copy()
    return heard, track


def test_every_second_tells_its_lag_also_where_minutes_meet() -> None:
    """At the seam of two minutes no window is left out, none is moved."""
    told = lags_along(*_take(133), RATE, later=LATER)
    times_s, lags_s = np.array(told).T
    assert np.diff(times_s) == pytest.approx(1.0)
    assert times_s[-1] > 130
    assert lags_s == pytest.approx(0.35, abs=0.001)


def test_a_jump_in_the_third_minute_is_told_where_it_is() -> None:
    """Sound that was put in by the machine makes all that follows late."""
    told = np.array(lags_along(*_take(150, jump_s=127.0), RATE, later=LATER))
    late = told[told[:, 0] > 129.5, 1]
    early = told[told[:, 0] < 124.5, 1]
    assert late == pytest.approx(0.40, abs=0.001)
    assert early == pytest.approx(0.35, abs=0.001)


@pytest.mark.parametrize("seconds", [0, 1, 3])
def test_too_short_a_take_tells_nothing(seconds: int) -> None:
    """Also where the recording ended before the track was heard."""
    heard, track = _take(4)
    assert lags_along(heard[: seconds * RATE], track, RATE, later=-3900) == []
