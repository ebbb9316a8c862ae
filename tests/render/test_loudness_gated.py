"""Gated loudness: what a meter says, whatever the blocks."""

import numpy as np
import pyloudnorm
import pytest

from rhythmtrain.render.loudness_gated import gated_loudness
from tests.simulate.slow_sounds import piano


@pytest.mark.parametrize("seed", [61, 62])
def test_a_piano_is_as_loud_as_a_meter_says(seed: int) -> None:
    """Silence before and after does not make it softer."""
    piece = piano(seed, bars=5)
    sound = np.concatenate((np.zeros(3 * piece.rate, np.float32), piece.make(1.0)))
    both = np.stack((sound, 0.5 * sound), axis=1)
    meter = pyloudnorm.Meter(piece.rate).integrated_loudness(both.astype(np.float64))
    blocks = [both[start : start + 3000] for start in range(0, len(both), 3000)]
    assert gated_loudness(blocks, piece.rate) == pytest.approx(meter, abs=0.2)
    assert gated_loudness([both], piece.rate) == pytest.approx(gated_loudness(blocks, piece.rate))


def test_one_channel_is_heard_in_both_ears() -> None:
    """A mono recording is played in both."""
    tone = 0.1 * np.sin(2 * np.pi * 1000 * np.arange(48_000) / 48_000).astype(np.float32)
    alone = gated_loudness([tone[:, None]], 48_000)
    assert alone == pytest.approx(gated_loudness([np.stack((tone, tone), axis=1)], 48_000))


def test_silence_and_what_is_too_short_have_no_loudness() -> None:
    """Nothing to bring to a level."""
    assert gated_loudness([np.zeros((48_000, 2), np.float32)], 48_000) == -np.inf
    assert gated_loudness([np.ones((100, 1), np.float32)], 48_000) == -np.inf
    assert gated_loudness([], 48_000) == -np.inf
