"""A microphone that sways before the loudspeaker, told from one that stands."""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.bleed.sway import lateness, later, sways
from tests.simulate.rooms import read_at

RATE = 16_000
Sound = NDArray[np.float32]


def _sound(seed: int) -> Sound:
    noise = np.random.default_rng(seed).standard_normal(12 * RATE)
    return np.convolve(noise, np.hanning(9) / 4.5, "same").astype(np.float32)


def _late() -> NDArray[np.float64]:
    """Return two thirds of a sample to and fro, a third of a turn a second."""
    return 0.7 * np.sin(2 * np.pi * 0.33 * np.arange(12 * RATE) / RATE)


def test_a_swaying_microphone_is_followed() -> None:
    """Two centimetres to and fro, in noise, within a tenth of what they are."""
    sound, late = _sound(41), _late()
    heard = read_at(sound.astype(np.float64), np.arange(len(sound)) - late).astype(np.float32)
    heard += 0.2 * _sound(42)
    ones = np.ones_like(sound)
    assert sways(heard, sound, ones, RATE)
    found = lateness(heard, sound, ones, RATE)
    assert np.sqrt(np.mean((found - late) ** 2)) < 0.1 * np.sqrt(np.mean(late**2))


def test_a_microphone_that_stands_is_left_alone() -> None:
    """Noise and claps are no movement."""
    sound = _sound(43)
    heard = sound + 0.5 * _sound(44)
    heard[RATE :: 2 * RATE] += 50
    assert not sways(heard, sound, np.ones_like(sound), RATE)


def test_what_was_made_later_can_be_made_earlier_again() -> None:
    """So the bleed comes back onto the recording's own clock."""
    sound, late = _sound(45), _late().astype(np.float32)
    back = later(later(sound, late), -late)
    inside = slice(RATE, -RATE)
    assert np.abs(back - sound)[inside].max() < 0.02 * np.abs(sound).max()
