"""The loudspeaker taken out while it plays, in a small room."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.hearing.live.bleed import LiveBleed
from rhythmtrain.hearing.live.floor import LiveFloor, lifted
from rhythmtrain.hearing.live.way import Way
from tests.simulate.small_room import RATE, heard_in_it, uneven_track

BLOCK = 256
TRACK = uneven_track(8.0)
HEARD = heard_in_it(TRACK)


def _left(
    bleed: LiveBleed, heard: np.ndarray, track: np.ndarray, *, ahead: int = 0
) -> tuple[np.ndarray, np.ndarray]:
    """Return what is left of ``heard`` and what was taken out, learning as soon as there is a job."""
    taken = []
    bleed.play(track[:ahead])
    for first in range(0, len(heard), BLOCK):
        bleed.play(track[first + ahead : first + ahead + BLOCK])
        part = bleed.hear(heard[first : first + BLOCK])
        taken.append(np.zeros(len(heard[first : first + BLOCK])) if part is None else part)
        job = bleed.job()
        if job is not None:
            bleed.learn(job())
    out = np.concatenate(taken)
    return heard - out, out


def _softer_db(heard: np.ndarray, left: np.ndarray, from_s: float) -> float:
    at = round(from_s * RATE)
    return 10 * float(np.log10(np.sum(heard[at:] ** 2) / np.sum(left[at:] ** 2)))


@pytest.fixture(scope="module")
def taught() -> Way:
    """Return the way that eight seconds of another track taught."""
    track = uneven_track(8.0, seed=9)
    bleed = LiveBleed(RATE)
    _left(bleed, heard_in_it(track), track)
    assert bleed.way is not None
    return bleed.way


def test_the_first_seconds_teach_the_way() -> None:
    """Nothing is taken out before something is known; then nearly all."""
    left, out = _left(LiveBleed(RATE), HEARD, TRACK)
    assert not out[: 4 * RATE].any()
    assert _softer_db(HEARD, left, 6.0) >= 20.0


def test_what_an_earlier_take_taught_serves_at_once(taught: Way) -> None:
    """The next try is clear from its second second, though the devices were opened anew."""
    heard = heard_in_it(TRACK, 930)
    left, out = _left(LiveBleed(RATE, taught), heard, TRACK)
    assert out[2 * RATE : 3 * RATE].any()
    assert _softer_db(heard, left, 3.5) >= 20.0


def test_a_track_that_is_there_beforehand_gives_the_same(taught: Way) -> None:
    """It is only computed sooner, in larger pieces."""
    late, _ = _left(LiveBleed(RATE, taught), HEARD, TRACK)
    soon, _ = _left(LiveBleed(RATE, taught), HEARD, TRACK, ahead=RATE)
    assert np.abs(late - soon).max() <= 1e-3
    assert _softer_db(HEARD, soon, 3.5) >= 20.0


def test_a_way_that_misleads_is_given_up(taught: Way) -> None:
    """Another loudspeaker, and headphones: nothing is taken out that is not there."""
    other = replace(taught, rooms=np.flip(taught.rooms, axis=1).copy())
    left, _ = _left(LiveBleed(RATE, other), HEARD, TRACK)
    assert _softer_db(HEARD, left, 6.5) >= 15.0
    noise = 1e-3 * np.random.default_rng(2).standard_normal(len(TRACK)).astype(np.float32)
    bleed = LiveBleed(RATE, taught)
    _, out = _left(bleed, noise, TRACK)
    assert not out.any()
    assert bleed.way is None


def test_where_sound_is_lost_nothing_is_put_in(taught: Way) -> None:
    """A moved prediction would make new sounds: it is dropped at once, and found again soon."""
    at, lost = 4 * RATE, 300
    heard = np.concatenate([HEARD[:at], HEARD[at + lost :]])
    left, out = _left(LiveBleed(RATE, taught), heard, TRACK)
    assert not out[at + round(0.7 * RATE) : at + round(1.4 * RATE)].any()
    assert _softer_db(heard, left, 7.0) >= 12.0


def test_a_silent_track_teaches_nothing(taught: Way) -> None:
    """In a long rest the way stays as it was."""
    silent = np.zeros(4 * RATE, np.float32)
    bleed = LiveBleed(RATE, taught)
    _, out = _left(bleed, silent, silent)
    assert not out.any()


def _floor(bleed_power: Callable[[int], np.ndarray], share: float) -> np.ndarray:
    floor = LiveFloor(3)
    expected = np.zeros(3, np.float32)
    for frame in range(300):
        power = bleed_power(frame).astype(np.float32)
        expected = floor.leftover(power, share * power + np.float32(1e-6))
    return expected


def test_what_is_left_is_expected_as_it_was_left() -> None:
    """A tenth of the power of loud frames is left: so much is looked for, in every band."""
    power = np.random.default_rng(3).uniform(0.5, 1.5, (300, 3))
    power[::2] = 1e-6
    expected = _floor(lambda frame: power[frame], 0.1)
    assert expected == pytest.approx(0.1 * power[-6:].max(axis=0), rel=0.2)
    assert lifted(np.ones(3, np.float32), expected) == pytest.approx(1 + 3 * expected)


def test_nothing_is_expected_where_nothing_is_taken_out() -> None:
    """The floor is the room's own again."""
    floor = LiveFloor(3)
    floor.leftover(np.ones(3, np.float32), np.ones(3, np.float32))
    assert not floor.leftover(None, np.ones(3, np.float32)).any()
