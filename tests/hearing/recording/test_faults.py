"""What is wrong with a recording before anyone plays to it."""

import numpy as np
import pytest

from rhythmtrain.hearing.recording.faults import Sound, faults_in
from tests.simulate.sounds import pink_noise

RATE = 44_100


def music(seed: int = 1, seconds: float = 4.0) -> Sound:
    """Return something loud and uneven in two channels, its peak at 0.9."""
    rng = np.random.default_rng(seed)
    swell = 0.3 + np.abs(np.sin(np.arange(round(seconds * RATE)) / RATE * 2.1))
    one, two = (pink_noise(rng, len(swell)) * swell for _ in range(2))
    both = np.column_stack([one, two])
    sound: Sound = (0.9 * both / np.abs(both).max()).astype(np.float32)
    return sound


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("gain", [2.0, 4.0])
def test_cut_tops_are_seen_and_whole_ones_are_not(seed: int, gain: float) -> None:
    """Also where the cut recording was made softer afterwards; loud is not the same as cut."""
    whole = music(seed)
    assert not faults_in([whole], RATE).clipped
    cut = np.clip(gain * whole, -0.98, 0.98).astype(np.float32)
    assert faults_in([cut], RATE).clipped
    assert faults_in([(0.5 * cut).astype(np.float32)], RATE).clipped


def test_it_does_not_matter_how_it_is_read() -> None:
    """Blocks are only a way of reading; the loudest place may come last."""
    cut = np.clip(3 * music(), -0.98, 0.98).astype(np.float32)
    once = faults_in([cut], RATE).flat_tops
    pieces = faults_in(np.array_split(cut, 7), RATE).flat_tops
    assert abs(once - pieces) <= 7
    soft_first = np.concatenate([0.5 * cut, cut]).astype(np.float32)
    assert abs(faults_in(np.array_split(soft_first, 2), RATE).flat_tops - once) <= 1


@pytest.mark.parametrize(("dead", "named"), [(0, "left"), (1, "right")])
def test_a_dead_channel_is_named(dead: int, named: str) -> None:
    """A cable that was half plugged in: one ear hears nothing."""
    sound = music()
    assert not faults_in([sound], RATE).dead
    sound[:, dead] *= 1e-4
    assert faults_in([sound], RATE).dead == named
    assert not faults_in([sound[:, :1]], RATE).dead


def test_silence_has_no_fault() -> None:
    """It is said elsewhere."""
    found = faults_in([np.zeros((1000, 2), np.float32)], RATE)
    assert not found.clipped
    assert not found.dead
