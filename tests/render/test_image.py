"""The stereo image of a slowed recording, whatever it is, and that nothing else changes by it."""

from collections.abc import Iterator

import numpy as np
import pytest
from numpy.typing import NDArray

from rhythmtrain.render.attacks import find_attacks
from rhythmtrain.render.elastic import Elastic, elastic
from rhythmtrain.render.image import Laid, imaged, table_of
from rhythmtrain.render.stretch import stretched
from tests.simulate.pianos import RATE
from tests.simulate.slow_sounds import TOLERANCE_S, onset_errors_s, piano
from tests.simulate.stereo_images import IMAGES, likeness, stereo, wanted_likeness

Sound = NDArray[np.float32]
STEP, STEP_S = 200, 0.01


def slowed(sound: Sound, speed: float) -> tuple[Sound, Elastic]:
    """Return ``sound``, shape (n, channels), at ``speed``, and the map it went by."""
    length = len(sound) / RATE
    by = elastic(((0.0, 0.0), (length, length / speed)), find_attacks([sound], RATE))
    return np.concatenate(list(stretched([sound], RATE, by))), by


@pytest.mark.parametrize("kind", IMAGES)
def test_channels_stay_as_like_as_they_were_at_half_speed(kind: str) -> None:
    """To a thousandth, also where they are opposed or come from two microphones."""
    sound = stereo(kind, 9405)
    slow, by = slowed(sound, 0.5)
    assert abs(likeness(slow) - wanted_likeness(sound, by)) < 0.001


@pytest.mark.parametrize("kind", ["wide", "opposed"])
def test_each_ear_is_as_loud_as_it_was(kind: str) -> None:
    """Nothing moves to the other side: both levels to a twentieth of a decibel."""
    sound = stereo(kind, 9406)
    slow, by = slowed(sound, 0.5)
    recorded, track = np.array(by.recorded_s), np.array(by.track_s)
    lasts = np.interp(np.arange(len(sound)) / RATE, recorded, track)
    power = (sound[:-1].astype(np.float64) ** 2 * np.diff(lasts)[:, None] * RATE).sum(axis=0)
    level = 10 * np.log10((slow.astype(np.float64) ** 2).sum(axis=0) / power)
    assert np.abs(level).max() < 0.1
    assert abs(level[0] - level[1]) < 0.05


def test_strokes_in_a_wide_image_stay_where_they_are() -> None:
    """Each ear has its own hands, and no more than 3 of 158 strokes are 10 ms off at half speed."""
    off = heard = 0
    for seed in (9407, 9408):
        pieces = piano(seed, bars=7), piano(seed + 10, bars=7)
        sides = [piece.make(1.0) for piece in pieces]
        length = min(side.size for side in sides)
        both = np.stack([side[:length] for side in sides], axis=1)
        slow, _ = slowed(both, 0.5)
        for side, piece in enumerate(pieces):
            inside = piece.onsets_s[piece.onsets_s < length / RATE - 0.2]
            errors = onset_errors_s(slow[:, side], piece.make(0.5), RATE, inside / 0.5)
            off += int((np.abs(errors) > TOLERANCE_S).sum())
            heard += errors.size
    assert heard > 100
    assert off <= heard * 3 / 158


def test_at_its_own_speed_a_stereo_recording_is_untouched() -> None:
    """Nothing is turned, so nothing is mixed."""
    sound = stereo("opposed", 9409, bars=3)
    done, _ = slowed(sound, 1.0)
    inside = slice(RATE // 20, -RATE // 20)
    assert np.abs(done[: len(sound)] - sound)[inside].max() < 1e-3


def _steps(sound: Sound, wanted: Sound) -> Iterator[Laid]:
    for start in range(0, len(sound), STEP):
        part = slice(start, start + STEP)
        yield Laid(sound[part], table_of(*wanted[part].T))


def test_what_was_mixed_wrongly_is_mixed_back() -> None:
    """A tenth of each ear that leaked into the other, and a level too low, are undone."""
    rng = np.random.default_rng(3)
    wanted = rng.normal(0, 0.1, (100 * STEP, 2)).astype(np.float32) @ np.array(
        [[1, 0.2], [0, 0.7]], np.float32
    )
    spoilt = wanted @ np.array([[0.8, 0.1], [0.1, 0.8]], np.float32)
    mended = np.concatenate(list(imaged(_steps(spoilt, wanted), STEP_S)))
    assert mended.shape == wanted.shape
    table, goal = table_of(*mended.T), table_of(*wanted.T)
    assert table / goal[0] == pytest.approx(goal / goal[0], abs=0.01)


@pytest.mark.parametrize("kind", ["silence", "one ear", "both alike"])
def test_images_without_width_are_left_alone(kind: str) -> None:
    """Silence, a dead channel, and mono in two channels have nothing to be mixed."""
    tone = np.sin(np.arange(60 * STEP) * 0.05).astype(np.float32)
    sides = {"silence": (0, 0), "one ear": (1, 0), "both alike": (1, 1)}[kind]
    sound = np.stack([side * tone for side in sides], axis=1).astype(np.float32)
    done = np.concatenate(list(imaged(_steps(0.97 * sound, 0.97 * sound), STEP_S)))
    assert done == pytest.approx(0.97 * sound, abs=1e-4)


def test_one_channel_passes_through() -> None:
    """A mono recording has no image."""
    sound = np.ones((50, 1), np.float32)
    (done,) = imaged(iter([Laid(sound, np.zeros(3))]), STEP_S)
    assert done is sound
