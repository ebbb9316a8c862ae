"""The mixer: every sound on its sample, for hours, in blocks of any size."""

import tracemalloc

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.render.mixer import Placed, render_blocks

SHAPES = st.lists(
    st.tuples(
        st.integers(-300, 2000),
        st.integers(1, 400),
        st.floats(0.1, 1),
        st.sampled_from([-1, 0, 0.4]),
    ),
    max_size=12,
)


def placed(at: int, length: int, gain: float = 1.0, pan: float = 0.0) -> Placed:
    """Return a made-up sound whose samples are all different."""
    sound = np.linspace(0.1, 0.9, length, dtype=np.float32) * (1 + at % 7)
    return Placed(at, length, lambda: sound, gain, pan)


def mixed(
    sounds: list[Placed], frames: int, *, block: int, channels: int = 2
) -> NDArray[np.float32]:
    """Return the whole mix."""
    blocks = list(render_blocks(sounds, frames, channels=channels, block=block))
    return np.concatenate(blocks) if blocks else np.zeros((0, channels), dtype=np.float32)


@given(SHAPES, st.integers(1, 700))
def test_any_block_size_gives_the_same_samples(
    shapes: list[tuple[int, int, float, float]], block: int
) -> None:
    """A track heard live and one written to a file are the same to the last bit."""
    sounds = [placed(*shape) for shape in shapes]
    whole = mixed(sounds, 2000, block=4000)
    assert whole.shape == (2000, 2)
    assert np.array_equal(mixed(sounds, 2000, block=block), whole)


@given(SHAPES, st.integers(0, 500))
def test_moving_every_sound_moves_the_mix(
    shapes: list[tuple[int, int, float, float]], by: int
) -> None:
    """A longer count-in changes nothing in how the passage sounds."""
    kept = [(abs(at), length, gain, pan) for at, length, gain, pan in shapes]
    here = [placed(*shape) for shape in kept]
    later = [Placed(each.at + by, each.length, each.make, each.gain, each.pan) for each in here]
    moved = mixed(later, 2500 + by, block=512)
    assert not moved[:by].any()
    assert np.array_equal(moved[by:], mixed(here, 2500, block=512))


@given(SHAPES)
def test_the_mix_is_the_sum_of_its_sounds(shapes: list[tuple[int, int, float, float]]) -> None:
    """Two claps at once are both heard."""
    wanted = np.zeros((3000, 1))
    for at, length, gain, _ in shapes:
        for n, value in enumerate(placed(at, length).make()):
            if 0 <= at + n < len(wanted):
                wanted[at + n, 0] += gain * float(value)
    heard = mixed([placed(*shape) for shape in shapes], 3000, block=100, channels=1)
    assert np.allclose(heard, wanted, atol=1e-5)


def test_a_sound_begun_before_the_track_is_heard_from_its_middle() -> None:
    """A word whose beat is the first thing in the track is not thrown away."""
    sound = np.arange(1, 11, dtype=np.float32)
    heard = mixed([Placed(-4, 10, lambda: sound)], 20, block=3, channels=1)
    assert heard[:7, 0].tolist() == [5, 6, 7, 8, 9, 10, 0]


def test_each_ear_gets_its_share() -> None:
    """A click in the left ear alone leaves the right one to the piano, and mono hears both."""
    one = np.ones(1, dtype=np.float32)
    sounds = [Placed(n, 1, lambda: one, 0.5, pan) for n, pan in enumerate((-1.0, 0.0, 0.5, 1.0))]
    assert mixed(sounds, 4, block=4).tolist() == [[0.5, 0], [0.5, 0.5], [0.25, 0.5], [0, 0.5]]
    assert mixed(sounds, 4, block=4, channels=1)[:, 0].tolist() == [0.5] * 4


def test_a_sound_is_made_when_it_is_reached_and_not_before() -> None:
    """Hours of notes are never in memory at once."""
    made: list[int] = []

    def maker(at: int) -> Placed:
        def make() -> NDArray[np.float32]:
            made.append(at)
            return np.ones(10, dtype=np.float32)

        return Placed(at, 10, make)

    blocks = render_blocks([maker(900), maker(0), maker(450)], 1000, block=100)
    next(blocks)
    assert made == [0]
    for _ in range(4):
        next(blocks)
    assert made == [0, 450]


def test_an_hour_needs_no_more_memory_than_a_minute() -> None:
    """A long session is made on a small machine."""
    peaks = []
    for minutes in (1, 20):
        frames = minutes * 60 * 8000
        sounds = [
            Placed(n, 4000, lambda: np.ones(4000, dtype=np.float32)) for n in range(0, frames, 4000)
        ]
        tracemalloc.start()
        for _ in render_blocks(sounds, frames):
            pass
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < 1.5 * peaks[0] + 100_000


@pytest.mark.parametrize(("channels", "block"), [(3, 10), (0, 10), (2, 0)])
def test_a_mix_that_cannot_be_made_is_refused(channels: int, block: int) -> None:
    """One line says what a mix may be."""
    with pytest.raises(RequestError, match="1 or 2 channels and blocks of 1 sample or more"):
        render_blocks([], 10, channels=channels, block=block)


def test_a_place_outside_the_ears_is_refused() -> None:
    """A wrong pan is named with what is allowed."""
    with pytest.raises(RequestError, match=r"pan must be -1 \(left\) to 1 \(right\), got 2"):
        placed(0, 1, pan=2.0)
