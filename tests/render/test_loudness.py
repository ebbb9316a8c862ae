"""Loudness against the figures that the standard's meters give for sines."""

import numpy as np
import pyloudnorm
import pytest

from rhythmtrain.render.loudness import ear_weight, loudness, lufs

# A 1 kHz sine in both channels at this peak measures this many LUFS within 0.1
# (EBU Tech 3341, cases 1 and 2).
SINES = {-23.0: -23.0, -33.0: -33.0}


@pytest.mark.parametrize("rate", [44_100, 48_000])
@pytest.mark.parametrize("peak_db", SINES)
def test_a_sine_in_both_channels_measures_as_published(peak_db: float, rate: int) -> None:
    """Levels mean what a broadcaster's meter shows."""
    n = np.arange(2 * rate)
    sine = (10 ** (peak_db / 20) * np.sin(2 * np.pi * 1000 * n / rate)).astype(np.float32)
    assert loudness(sine, rate) == pytest.approx(SINES[peak_db], abs=0.1)


@pytest.mark.parametrize("hertz", [60, 200, 500, 2000, 6000, 12_000])
def test_every_register_is_weighted_as_another_meter_does(hertz: int) -> None:
    """Low and high notes are judged as by pyloudnorm, within 0.3 LU."""
    rate = 48_000
    sine = 0.1 * np.sin(2 * np.pi * hertz * np.arange(2 * rate) / rate)
    wanted = pyloudnorm.Meter(rate).integrated_loudness(np.column_stack([sine, sine]))
    assert loudness(sine.astype(np.float32), rate) == pytest.approx(wanted, abs=0.3)


def test_twice_the_amplitude_is_6_db_louder() -> None:
    """Loudness follows the level."""
    noise = np.random.default_rng(3).standard_normal(5000).astype(np.float32) * 0.05
    assert loudness(2 * noise, 44_100) - loudness(noise, 44_100) == pytest.approx(6.02, abs=0.01)


def test_silence_has_no_loudness() -> None:
    """A silent word does not become infinitely loud by being levelled."""
    assert loudness(np.zeros(100, dtype=np.float32), 44_100) == -np.inf
    assert lufs(0.0) == -np.inf


def test_the_lowest_rumble_counts_for_nothing() -> None:
    """Handling noise in a recorded word does not make the word softer."""
    assert ear_weight(np.array([5.0]))[0] < 0.01
