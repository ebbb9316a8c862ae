"""Energies in bands: what a tone and a noise weigh, and where frames stand."""

import numpy as np
import pytest

from rhythmtrain.hearing.onsets.bands import HOP_S, band_energies, bands_for, frame_centres
from rhythmtrain.hearing.onsets.kinds import KINDS


@pytest.mark.parametrize("rate", [8000, 22050, 44100, 48000, 96000])
@pytest.mark.parametrize("kind", ["claps", "wind"])
def test_bands_are_whole_and_lie_below_the_rate(rate: int, kind: str) -> None:
    """No band is empty, none is counted twice, none lies where the file has nothing."""
    bands = bands_for(KINDS[kind], rate)
    assert (bands.bins >= 1).all()
    assert bands.bins.sum() == bands.stop - bands.starts[0]
    assert bands.stop <= bands.length // 2 + 1
    assert bands.weights.sum() == pytest.approx(1, abs=1e-5)


def test_white_noise_weighs_one_a_bin() -> None:
    """The floor can be compared between bands and rates."""
    bands = bands_for(KINDS["claps"], 44100)
    noise = np.random.default_rng(0).standard_normal(44100 * 4).astype(np.float32)
    energies = band_energies(noise, frame_centres(10, 700, 44100), bands)
    assert energies.mean(axis=0) / bands.bins == pytest.approx(1, abs=0.25)
    assert energies.mean() / bands.bins.mean() == pytest.approx(1, abs=0.02)


@pytest.mark.parametrize("pitch_hz", [100.0, 440.0, 3000.0])
def test_a_tone_is_in_its_band(pitch_hz: float) -> None:
    """A low drum and a high click are told apart."""
    bands = bands_for(KINDS["claps"], 44100)
    tone = np.sin(2 * np.pi * pitch_hz * np.arange(8192) / 44100).astype(np.float32)
    band = int(band_energies(tone, np.array([4096]), bands)[0].argmax())
    width = 44100 / bands.length
    low = bands.starts[band] * width
    assert low - 1.5 * width <= pitch_hz <= low + (bands.bins[band] + 1.5) * width


@pytest.mark.parametrize("rate", [8000, 11025, 44100])
def test_frames_do_not_drift_in_an_hour(rate: int) -> None:
    """The last bar of a long take is heard as exactly as the first."""
    frame = 720_000
    centre = int(frame_centres(frame, 1, rate)[0])
    assert centre == pytest.approx(frame * HOP_S * rate, abs=0.5)
    assert (frame_centres(0, 300, rate)[200:] == frame_centres(200, 100, rate)).all()
