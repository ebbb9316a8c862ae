"""How loud a loudspeaker can be just now, while nothing is known but the track."""

import numpy as np
import pytest

from rhythmtrain.hearing.live.level import LiveLevels
from tests.simulate.small_room import RATE, heard_in_it, uneven_track

BLOCK = 320
DELAY = 900


def _levels(heard: np.ndarray, track: np.ndarray, delay_s: float = DELAY / RATE) -> LiveLevels:
    levels = LiveLevels(RATE, delay_s)
    for first in range(0, len(heard), BLOCK):
        levels.play(track[first : first + BLOCK])
        levels.hear(heard[first : first + BLOCK])
    return levels


def _db(sound: np.ndarray) -> float:
    return 10 * float(np.log10(np.mean(np.square(sound)) + 1e-12))


@pytest.mark.parametrize("off_s", [-0.05, 0.0, 0.05])
def test_the_loudspeaker_is_seldom_louder_than_it_can_be(off_s: float) -> None:
    """Also where the delay is only about right."""
    track = uneven_track(6.0)
    heard = heard_in_it(track, DELAY)
    levels = _levels(heard, track, DELAY / RATE + off_s)
    times = [t for t in np.arange(2.5, 5.9, 0.01) if np.isfinite(levels.most_db(t))]
    assert len(times) >= 200
    over = [
        _db(heard[round(t * RATE) - 80 : round(t * RATE) + 320]) - levels.most_db(t) for t in times
    ]
    assert np.percentile(over, 97) <= 4.0
    assert np.percentile(over, 50) >= -25.0


def test_on_headphones_hardly_anything_is_expected() -> None:
    """A clap is shown at once, on a click as anywhere."""
    track = uneven_track(6.0)
    noise = 1e-3 * np.random.default_rng(2).standard_normal(len(track)).astype(np.float32)
    levels = _levels(noise, track)
    assert max(levels.most_db(t) for t in np.arange(2.5, 5.9, 0.01)) <= -40.0


def test_before_anything_was_heard_the_loudspeaker_may_be_as_loud_as_it_likes() -> None:
    """Nothing is claimed of a click in the first half second."""
    track = uneven_track(6.0)
    heard = heard_in_it(track, DELAY)
    begins = int(np.flatnonzero(track)[0])
    soon = slice(begins, begins + RATE // 2)
    assert _levels(heard[soon], track[soon]).most_db(0.4) == np.inf
    silent = np.zeros(RATE, np.float32)
    assert _levels(silent, silent).most_db(0.9) == -np.inf
