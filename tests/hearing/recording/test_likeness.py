"""What a recording sounds like is kept in a line: the same re-encoded has it, another playing has not."""

import numpy as np
import pytest
from numpy.typing import NDArray

from rhythmtrain.hearing.recording.likeness import LAST_S, PLACES, likeness, sounds_other
from tests.simulate.performances import perform

RATE = 22_050
Sound = NDArray[np.float32]
Playing = tuple[Sound, Sound]


@pytest.fixture(scope="module", params=[9301, 9302, 9303])
def playing(request: pytest.FixtureRequest) -> Playing:
    """Return a performance, and another of the same length."""
    one, other = (perform(seed, expressive=True, bars=16).sound for seed in (request.param, 9400))
    size = min(one.size, other.size)
    return one[:size], other[:size]


def line_of(sound: Sound) -> str:
    """Return the line of a sound at the rate of the simulated piano."""
    return likeness([sound], RATE)


def test_another_playing_of_the_same_length_is_told(playing: Playing) -> None:
    """Everybody who plays to it by the old map would be called late."""
    one, other = map(line_of, playing)
    assert sounds_other(one, other)
    assert sounds_other(other, one)


def test_the_same_playing_is_the_same_whatever_became_of_its_file(playing: Playing) -> None:
    """Softer, hissing a little, a codec's frame later: no word, or nobody heeds the true one."""
    one, _ = playing
    kept = line_of(one)
    hiss = np.random.default_rng(5).normal(0, 10 ** (-55 / 20), one.size).astype(np.float32)
    late = np.concatenate([np.zeros(round(0.025 * RATE), np.float32), one])
    for same in (one, one * np.float32(0.1), -one, one + hiss, late):
        assert not sounds_other(kept, line_of(same))


def test_a_recording_that_was_cut_by_a_beat_is_told(playing: Playing) -> None:
    """Cut at the front and filled up behind it lasts as long, and every beat is elsewhere."""
    one, _ = playing
    assert sounds_other(line_of(one), line_of(np.roll(one, -round(0.37 * RATE))))


def test_blocks_of_any_size_have_the_same_line_and_no_more_are_read_than_are_needed() -> None:
    """A recording of an hour is asked about in a moment."""
    rng = np.random.default_rng(8)
    sound = rng.normal(0, 0.1, round(LAST_S + 3) * 1000).astype(np.float32)
    sound *= np.repeat(rng.uniform(0, 1, sound.size // 250), 250).astype(np.float32)
    whole = likeness([sound], 1000)
    blocks = iter(np.split(sound, range(777, sound.size, 777)))
    assert likeness(blocks, 1000) == whole
    assert len(list(blocks)) >= 2
    assert len(whole) == PLACES
    assert set(whole) == {"+", "-", "."}


@pytest.mark.parametrize("seconds", [0.0, 0.05, 3.0, 60.0])
def test_what_tells_nothing_is_doubted_by_nobody(seconds: float) -> None:
    """Silence, a held chord, two seconds of anything, a file that ends at once."""
    size = round(seconds * 1000)
    held = np.sin(0.7 * np.arange(size)).astype(np.float32)
    struck = np.random.default_rng(3).normal(0, 1, size).astype(np.float32)
    quiet = np.zeros(size, np.float32)
    lines = [likeness([each], 1000) for each in (held, quiet)] + [
        likeness([struck[:2000]], 1000),
        "",
        ".",
    ]
    for one in lines:
        for other in lines:
            assert not sounds_other(one, other)
