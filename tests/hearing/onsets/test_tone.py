"""A note sounds on; a breath, a key, a bow being placed do not."""

import numpy as np
import pytest

from rhythmtrain.hearing.onsets.kinds import KINDS
from rhythmtrain.hearing.onsets.tone import tone_share
from tests.simulate.aloud_table import measured
from tests.simulate.own_noises import bow_placed, breath, key_click, sniff
from tests.simulate.sounds import Maker, bowed_note, reed_note, syllable

RATE = 44_100


def _share(maker: Maker, seed: int, rate: int = RATE) -> float:
    sound = np.pad(maker(np.random.default_rng(seed), rate), (100, rate // 2))
    hiss = 1e-4 * np.random.default_rng(seed + 1).standard_normal(sound.size)
    return tone_share((sound + hiss).astype(np.float32), 100, rate)


@pytest.mark.parametrize("maker", [breath, sniff, key_click, bow_placed])
@pytest.mark.parametrize("seed", range(6))
def test_breath_and_keys_are_no_notes(maker: Maker, seed: int) -> None:
    """The breath a beat before an entry must never be taken for it."""
    assert _share(maker, seed) < KINDS["wind"].least_tone


@pytest.mark.parametrize("rate", [8000, 16_000, 44_100, 96_000])
@pytest.mark.parametrize("maker", [reed_note, bowed_note])
def test_notes_sound_on(maker: Maker, rate: int) -> None:
    """At any rate that a recording has."""
    assert min(_share(maker, seed, rate) for seed in range(4)) > 0.9


def test_spoken_syllables_sound_on_after_their_consonant() -> None:
    """An s or a t opens many a count."""
    assert min(_share(syllable, seed) for seed in range(20)) > KINDS["voice"].least_tone


@pytest.mark.parametrize("pitch_hz", [45, 110, 440, 2093, 3900])
def test_low_and_high_notes_are_notes(pitch_hz: float) -> None:
    """From the double bass to the piccolo."""
    t = np.arange(RATE) / RATE
    tone = sum(np.sin(2 * np.pi * k * pitch_hz * t) / k for k in range(1, 5) if k * pitch_hz < 9000)
    assert tone_share(np.asarray(tone, np.float32), 0, RATE) > 0.8


def test_two_strings_at_once_are_a_note() -> None:
    """A double stop repeats itself less, but far more than a breath."""
    t = np.arange(RATE) / RATE
    pair = np.sin(2 * np.pi * 293.7 * t) + np.sin(2 * np.pi * 493.9 * t)
    assert tone_share(pair.astype(np.float32), 0, RATE) > KINDS["strings"].least_tone


def test_what_is_cut_off_at_once_is_given_the_benefit() -> None:
    """A recording that stops on its last note still has that note."""
    assert tone_share(np.zeros(500, np.float32), 100, RATE) == 1.0


@pytest.mark.parametrize("name", ["reed, breath, keys", "bow, breath, bow placed", "sung, breath"])
def test_no_breath_is_taken_for_an_entry(name: str) -> None:
    """Whoever breathes in time before coming in is praised, not told of an early entry."""
    row = measured("held out", name, 2)
    assert row.before == 0
    assert row.entries > 2
