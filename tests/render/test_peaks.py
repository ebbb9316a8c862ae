"""The ceiling: no track passes -1 dBTP, and ordinary ones are left alone."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import resample_poly

from rhythmtrain.render.peaks import ceiling_gain, true_peak

LIMIT = 10 ** (-1 / 20)


def between_samples(level: float, frames: int = 20_000) -> NDArray[np.float32]:
    """Return a sine at a quarter of the rate whose samples all miss its crests by 45 degrees."""
    n = np.arange(frames)
    sine = level * np.sin(np.pi * n / 2 + np.pi / 4) * np.hanning(frames)
    return np.column_stack([sine, 0.5 * sine]).astype(np.float32)


def read_by_another(samples: NDArray[np.float32]) -> float:
    """Return the true peak as scipy's polyphase filter reads it on four times as many samples."""
    return float(np.abs(resample_poly(samples.astype(np.float64), 4, 1, axis=0)).max())


def test_the_crest_between_two_samples_is_seen() -> None:
    """What a loudspeaker would draw above the samples counts: 3 dB here."""
    samples = between_samples(0.9)
    assert np.abs(samples).max() == pytest.approx(0.9 * np.sqrt(0.5), abs=0.001)
    assert true_peak(samples) == pytest.approx(0.9, abs=0.005)


@given(st.floats(0.3, 4.0), st.integers(100, 30_000))
@settings(max_examples=25)
def test_a_track_turned_down_stays_below_the_ceiling(level: float, block: int) -> None:
    """Nothing distorts, on whatever device: at most -1 dBTP by another program's reading."""
    samples = between_samples(level)
    gain = ceiling_gain(samples[n : n + block] for n in range(0, len(samples), block))
    assert read_by_another(samples * np.float32(gain)) <= LIMIT


def test_a_soft_track_is_left_as_it_is() -> None:
    """Every ordinary track has the documented levels."""
    assert ceiling_gain([between_samples(0.8)]) == 1.0
    assert ceiling_gain([]) == 1.0


@given(st.integers(1, 4000), st.integers(4096, 5500))
@settings(max_examples=25)
def test_the_crest_is_read_alike_however_the_track_is_cut(block: int, middle: int) -> None:
    """The ceiling holds at every place, and cutting makes no peak that is not there."""
    n = np.arange(10_000)
    swell = np.exp(-(((n - middle) / 300) ** 2))
    samples = (1.8 * swell * np.sin(np.pi * n / 2 + np.pi / 4))[:, None].astype(np.float32)
    parts = [samples[start : start + block] for start in range(0, len(samples), block)]
    wanted = 10 ** (-1.2 / 20) / 1.8
    assert ceiling_gain(parts) == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize("at", [0, 1, 299])
def test_the_first_and_last_samples_count(at: int) -> None:
    """A track that begins or ends too loud is turned down as well."""
    samples = np.zeros((300, 1), dtype=np.float32)
    samples[at] = 2.0
    assert ceiling_gain([samples]) == pytest.approx(10 ** (-1.2 / 20) / 2, rel=0.01)
