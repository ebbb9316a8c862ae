"""The moment of an attack in a short piece of sound, for known attacks in known noise."""

import numpy as np
import pytest
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.attack import Attack, attack_near
from rhythmtrain.hearing.onsets.attack_bins import AFTER_S, BEFORE_S, band_bins

RATE = 44100
PLACE = round(BEFORE_S * RATE)
SIZE = PLACE + round(AFTER_S * RATE)


def burst(
    rng: np.random.Generator, start: int, *, rise_s: float, level: float
) -> NDArray[np.float32]:
    """Return noise of rms 0.01 with a burst whose rise begins at sample ``start``."""
    age = (np.arange(SIZE) - start) / RATE
    shape = np.where(age >= 0, np.clip(age / rise_s, 0, 1) * np.exp(-np.maximum(age, 0) / 0.02), 0)
    sound = 0.01 * rng.standard_normal(SIZE) + level * shape * rng.standard_normal(SIZE)
    return sound.astype(np.float32)


def heard(
    seed: int, *, late_s: float, rise_s: float = 0.001, level: float = 0.3
) -> tuple[Attack, float]:
    """Return the attack found and the true time of 5 % of the rise, both from the place."""
    start = PLACE + round(late_s * RATE)
    sound = burst(np.random.default_rng(seed), start, rise_s=rise_s, level=level)
    return attack_near(sound, RATE), late_s + 0.05 * rise_s


@pytest.mark.parametrize("late_s", [-0.008, 0.0, 0.006, 0.012])
@pytest.mark.parametrize("rise_s", [0.0005, 0.002, 0.004])
def test_the_start_of_the_rise_is_found_not_its_summit(late_s: float, rise_s: float) -> None:
    """A hand that closes slowly is not called late for it."""
    errors = []
    for seed in range(5):
        attack, true_s = heard(seed, late_s=late_s, rise_s=rise_s)
        errors.append(attack.time_s - true_s)
    assert abs(np.median(errors)) < 0.0006


def test_a_weaker_attack_is_less_certain_and_says_so() -> None:
    """In noise the verdict must carry the doubt of the hearing."""
    loud = [heard(seed, late_s=0.003, level=0.3)[0] for seed in range(6)]
    soft = [heard(seed, late_s=0.003, level=0.012)[0] for seed in range(6)]
    assert np.median([a.uncertainty_s for a in soft]) > np.median([a.uncertainty_s for a in loud])
    assert np.median([a.evidence for a in soft]) < np.median([a.evidence for a in loud])
    assert np.median([a.strength_db for a in soft]) < np.median([a.strength_db for a in loud])


def test_noise_alone_has_little_evidence() -> None:
    """What is only noise must not be made a stroke."""
    found = [heard(seed, late_s=0.0, level=0.0)[0].evidence for seed in range(40)]
    assert np.percentile(found, 90) < 8
    assert heard(0, late_s=0.0, level=0.05)[0].evidence > 100


def test_a_second_stroke_in_the_ringing_of_the_first_is_placed() -> None:
    """Sixteenths on a drum that rings: the second stroke has a start of its own."""
    rng = np.random.default_rng(3)
    t = np.arange(SIZE) / RATE
    ringing = 0.2 * np.exp(-t / 0.015) * rng.standard_normal(SIZE)
    sound = burst(rng, PLACE + 90, rise_s=0.001, level=0.1) + ringing.astype(np.float32)
    assert attack_near(sound.astype(np.float32), RATE).time_s == pytest.approx(
        90 / RATE, abs=0.0012
    )


def test_samples_before_the_recording_are_no_silence_to_rise_from() -> None:
    """The recorder's switching on is not the stroke; the clap 40 ms later is."""
    sound = burst(np.random.default_rng(5), PLACE, rise_s=0.001, level=0.2)
    missing = round(0.02 * RATE)
    sound[:missing] = 0
    assert attack_near(sound, RATE, missing=missing).time_s == pytest.approx(0, abs=0.001)


def test_a_recording_that_begins_with_the_attack_starts_there() -> None:
    """A file cut at the clap itself has its onset at its first sample."""
    sound = burst(np.random.default_rng(6), PLACE, rise_s=0.0003, level=0.3)
    sound[:PLACE] = 0
    assert attack_near(sound, RATE, missing=PLACE).time_s == pytest.approx(0, abs=0.0005)


@pytest.mark.parametrize("rate", [8000, 16000, 44100, 96000])
def test_bands_beyond_the_rate_are_left_out(rate: int) -> None:
    """A telephone's recording has fewer bands, not empty ones."""
    size = round((BEFORE_S + AFTER_S) * rate)
    noise = np.random.default_rng(1).standard_normal(size).astype(np.float32)
    bins, free = band_bins(noise, rate)
    assert bins.shape[0] == free.size == (3 if rate == 8000 else 4)
    assert (bins[:, 30:].mean(axis=1) > 0.5 * (350 - 80) / (rate / 2)).all()
    assert (free > 0).all()


def test_a_rumble_holds_fewer_free_numbers_than_white_noise() -> None:
    """A car outside must not count as so much proof of a stroke."""
    white = np.random.default_rng(2).standard_normal(SIZE)
    red = np.cumsum(np.cumsum(white) - np.mean(white))
    _, free_white = band_bins(white.astype(np.float32), RATE)
    _, free_red = band_bins((red / np.abs(red).max()).astype(np.float32), RATE)
    assert (free_red < free_white).all()


def test_silence_is_no_error() -> None:
    """Digital silence before and after is a number, not a division by zero."""
    assert np.isfinite(attack_near(np.zeros(SIZE, np.float32), RATE).time_s)
