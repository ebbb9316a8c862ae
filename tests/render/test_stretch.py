"""A recording slowed: strokes where they belong, no drift, the stereo image kept, any block size."""

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.render.attacks import find_attacks
from rhythmtrain.render.elastic import elastic, straight
from rhythmtrain.render.stretch import stretched
from tests.simulate.slow_sounds import (
    TOLERANCE_S,
    click_errors_s,
    clicks,
    onset_errors_s,
    piano,
    voice,
)

Sound = NDArray[np.float32]
RATE = 22_050


def in_blocks(sound: Sound, size: int = 65_536) -> list[Sound]:
    """Return ``sound`` in blocks, shape (n, channels)."""
    columns = sound.reshape(len(sound), -1)
    return [columns[start : start + size] for start in range(0, len(columns), size)]


def slowed(sound: Sound, rate: int, speed: float) -> Sound:
    """Return ``sound`` at ``speed``, its strokes kept sharp."""
    length = len(sound) / rate
    by = elastic(((0.0, 0.0), (length, length / speed)), find_attacks(in_blocks(sound), rate))
    done = np.concatenate(list(stretched(in_blocks(sound), rate, by)))
    return done[:, 0] if sound.ndim == 1 else done


@pytest.mark.parametrize("speed", [0.4, 0.5, 0.75, 1.1])
@pytest.mark.parametrize("rate", [22_050, 44_100])
def test_clicks_fall_within_a_millisecond_of_their_scaled_seconds(speed: float, rate: int) -> None:
    """A metronome in the recording must not limp when it is slowed."""
    sound, at_s = clicks(7, rate)
    own = click_errors_s(sound, rate, at_s)
    errors = click_errors_s(slowed(sound, rate, speed), rate, at_s / speed, first=own)
    assert np.abs(errors).max() < 0.001


def test_no_more_than_3_of_158_piano_onsets_are_10_ms_off_at_half_speed() -> None:
    """The piano is what one plays to; a smeared chord is no beat."""
    off = heard = 0
    for seed in (9301, 9302):
        piece = piano(seed, bars=9)
        slow = slowed(piece.make(1.0), piece.rate, 0.5)
        errors = onset_errors_s(slow, piece.make(0.5), piece.rate, piece.onsets_s / 0.5)
        off += int((np.abs(errors) > TOLERANCE_S).sum())
        heard += errors.size
    assert heard > 100
    assert off <= heard * 3 / 158


def test_a_sung_line_keeps_its_onsets() -> None:
    """A teacher's voice as model, slowed."""
    line = voice(11)
    slow = slowed(line.make(1.0), line.rate, 0.6)
    errors = onset_errors_s(slow, line.make(0.6), line.rate, line.onsets_s / 0.6)
    assert np.median(np.abs(errors)) <= 0.012


def test_ten_minutes_do_not_drift() -> None:
    """The last click of a long recording is as exact as the first."""
    rate, speed = 8000, 0.5
    sound = np.zeros(300 * rate, np.float32)
    at_s = np.arange(1.0, 299.0, 11.7)
    for second in at_s:
        sound[round(second * rate)] = 1.0
    slow = slowed(sound, rate, speed)
    peaks = [
        (start + int(np.argmax(np.abs(slow[start : start + rate // 4])))) / rate
        for start in (int((second / speed - 0.1) * rate) for second in at_s)
    ]
    assert len(slow) == len(sound) / speed
    assert np.abs(np.array(peaks) - at_s / speed).max() < 0.001


@pytest.mark.parametrize("speed", [0.5, 0.75])
def test_the_stereo_image_stays(speed: float) -> None:
    """The piano must not wander from ear to ear."""
    middle, room = piano(40, bars=5).make(1.0), piano(41, bars=5).make(1.0)
    length = min(len(middle), len(room))
    both = np.stack((middle[:length], 0.9 * middle[:length] + 0.05 * room[:length]), axis=1)
    slow = slowed(both, RATE, speed)
    before, after = (float(np.corrcoef(each.T).flat[1]) for each in (both, slow))
    assert 0.99 < before < 0.9995
    assert abs(before - after) < 0.001


def test_at_its_own_speed_nothing_changes() -> None:
    """A track at full speed is the recording itself."""
    sound = piano(33, bars=4).make(1.0)
    assert np.abs(slowed(sound, RATE, 1.0)[: len(sound)] - sound).max() < 1e-3


@settings(max_examples=8, deadline=None)
@given(st.integers(500, 40_000), st.floats(0.3, 1.5))
def test_any_block_size_gives_the_same_samples(size: int, speed: float) -> None:
    """What is read from a disk in pieces sounds as what is read whole."""
    sound = clicks(3, 8000, count=6)[0]
    length = len(sound) / 8000
    whole, parts = in_blocks(sound, len(sound)), in_blocks(sound, size)
    assert find_attacks(whole, 8000) == find_attacks(parts, 8000)
    by = elastic(((0.0, 0.0), (length, length / speed)), find_attacks(whole, 8000))
    one = np.concatenate(list(stretched(whole, 8000, by)))
    other = np.concatenate(list(stretched(parts, 8000, by)))
    assert len(one) == round(length / speed * 8000)
    np.testing.assert_array_equal(one, other)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.floats(0.05, 3.0), min_size=1, max_size=8),
    st.lists(st.floats(0.3, 1.5), min_size=8, max_size=8),
    st.lists(st.floats(0.0, 20.0), max_size=40),
)
def test_strokes_lie_where_the_beats_put_them(
    steps: list[float], speeds: list[float], strokes: list[float]
) -> None:
    """Whatever the tempo does, and however many strokes crowd."""
    anchors = [(0.5, 2.0)]
    for step, speed in zip(steps, speeds, strict=False):
        anchors.append((anchors[-1][0] + step, anchors[-1][1] + step / speed))
    plain = straight(tuple(anchors))
    made = elastic(tuple(anchors), tuple(sorted(set(strokes))))
    assert (made.recorded_s[0], made.track_s[0]) == anchors[0]
    assert (made.recorded_s[-1], made.track_s[-1]) == anchors[-1]
    assert all(np.diff(made.recorded_s) > 0)
    assert all(np.diff(made.track_s) > 0)
    for each in made.kept:
        there = plain.track(np.array([each.recorded_s]))
        assert abs(there[0] - each.track_s) < 1e-9


def test_a_map_that_goes_back_is_refused() -> None:
    """Sound cannot be laid down backwards."""
    with pytest.raises(RequestError, match="forward in both"):
        elastic(((0.0, 0.0), (1.0, 2.0), (2.0, 1.5)), ())
    with pytest.raises(RequestError, match="forward in both"):
        straight(((0.0, 0.0),))


def test_what_the_map_reaches_beyond_the_recording_is_silence() -> None:
    """A last bar that rings longer than the recording does not fail."""
    sound = np.ones((4000, 1), np.float32)
    done = np.concatenate(list(stretched([sound], 8000, straight(((0.0, 0.0), (2.0, 2.0))))))
    assert len(done) == 16_000
    assert np.abs(done[8000:]).max() < 1e-6


def test_a_stretch_never_holds_the_recording() -> None:
    """Blocks are asked for as they are needed, an hour as a second."""
    asked = 0

    def blocks() -> Iterator[Sound]:
        nonlocal asked
        while True:
            asked += 1
            yield np.zeros((1000, 2), np.float32)

    first = next(iter(stretched(blocks(), 8000, straight(((0.0, 0.0), (3000.0, 6000.0))))))
    assert first.shape[1] == 2
    assert asked < 5
