"""The beat of a spoken word: properties of the rule, and the supplied tables."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.errors import TakeError
from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.storage.word_sound import resampled
from tests.simulate.spoken import beat_windows

RATE = 24_000
SAMPLES = Path(__file__).parents[2] / "audio_samples"
LANGUAGES = ("en", "de", "fr", "es", "nl")


def vowel(attack_s: float, *, start_s: float = 0.0, rate: int = RATE) -> NDArray[np.float64]:
    """Return a 600 Hz tone that rises evenly for ``attack_s`` and then holds."""
    seconds = np.arange(round(0.5 * rate)) / rate - start_s
    rise = np.clip(seconds / attack_s, 0.0, 1.0)
    return np.asarray(0.3 * rise * np.sin(2 * np.pi * 600.0 * seconds))


@pytest.mark.parametrize("place_s", [0.0, 0.05, 0.2])
@pytest.mark.parametrize("rate", [8_000, 24_000, 44_100, 48_000])
def test_a_click_lies_at_its_own_place(place_s: float, rate: int) -> None:
    """A sound without a rise has nothing to wait for: the beat is where it is."""
    click = np.zeros(round(0.4 * rate))
    click[round(place_s * rate)] = 1.0
    assert beat_point(click, rate) == pytest.approx(place_s, abs=0.010)


def test_a_slower_attack_is_heard_later() -> None:
    """A "six" that creeps in must be started earlier than an "eight" that is there at once."""
    points = [beat_point(vowel(attack_s), RATE) for attack_s in (0.005, 0.02, 0.05, 0.1, 0.2)]
    assert np.all(np.diff(points) > 0.002)


@given(gain=st.floats(1e-4, 1e3), attack_s=st.floats(0.005, 0.2))
def test_loudness_does_not_move_the_beat(gain: float, attack_s: float) -> None:
    """A teacher who records softly gets the same count."""
    sound = vowel(attack_s)
    assert beat_point(gain * sound, RATE) == pytest.approx(beat_point(sound, RATE), abs=1e-9)


@given(silence_s=st.floats(0.01, 0.2))
def test_silence_before_a_word_moves_the_beat_by_as_much(silence_s: float) -> None:
    """A recording that starts late is still said on the beat."""
    silence = np.zeros(round(silence_s * RATE))
    sound = vowel(0.03)
    later = beat_point(np.concatenate([silence, sound]), RATE)
    moved = beat_point(np.concatenate([np.zeros(240), sound]), RATE) - 0.01
    assert later - len(silence) / RATE == pytest.approx(moved, abs=1e-4)


@pytest.mark.parametrize("rate", [16_000, 22_050, 44_100, 48_000, 96_000, 192_000])
def test_the_rate_of_the_recording_does_not_matter(rate: int) -> None:
    """The same word recorded by a phone or a studio lies on the same beat, to 2 microseconds."""
    word = vowel(0.06)
    word *= np.hanning(len(word))
    assert beat_point(resampled(word, RATE, rate), rate) == pytest.approx(
        beat_point(word, RATE), abs=2e-6
    )


@pytest.mark.parametrize("rate", [22_050, 44_100, 48_000])
@pytest.mark.parametrize("window", [{"to_s": 0.1237}, {"from_s": 0.1411}, {"from_s": 0.15001}])
def test_the_rate_does_not_matter_where_only_a_part_is_looked_at(
    rate: int, window: dict[str, float]
) -> None:
    """A part that begins or ends between two samples of one rate is the same part at another."""
    word = np.concatenate([0.3 * vowel(0.02)[:3_600], vowel(0.05)]) * np.hanning(3_600 + RATE // 2)
    assert beat_point(resampled(word, RATE, rate), rate, **window) == pytest.approx(
        beat_point(word, RATE, **window), abs=5e-6
    )


@pytest.mark.parametrize("window", [{"to_s": 0.05}, {"from_s": 0.3}, {"from_s": 0.2, "to_s": 0.1}])
def test_a_part_in_which_nothing_is_said_has_no_beat(window: dict[str, float]) -> None:
    """What is left of a loud word after filtering is not taken for a soft one."""
    word = np.concatenate([np.zeros(2_400), vowel(0.02)[:2_400], np.zeros(4_800)])
    with pytest.raises(TakeError, match="empty or silent"):
        beat_point(word, RATE, **window)


def test_a_soft_first_syllable_is_found_when_only_it_is_looked_at() -> None:
    """In "siebzig" the second syllable is louder, but the first belongs on the beat."""
    word = vowel(0.02)
    word[: round(0.2 * RATE)] *= 0.3
    assert beat_point(word, RATE) > 0.18
    assert beat_point(word, RATE, to_s=0.15) < 0.03
    assert beat_point(word, RATE, from_s=0.25) == pytest.approx(0.25, abs=0.010)


def test_a_beat_at_the_edge_of_the_part_looked_at_is_told_from_the_start_of_the_word() -> None:
    """Looking at a part of a word never shifts what is found there."""
    click = np.zeros(round(0.4 * RATE))
    click[round(0.2 * RATE)] = 1.0
    assert beat_point(click, RATE, from_s=0.2) == pytest.approx(0.2, abs=0.010)


@pytest.mark.parametrize("sound", [np.zeros(0), np.zeros(2_400), np.zeros(1)])
def test_silence_has_no_beat(sound: NDArray[np.float64]) -> None:
    """An empty recording is refused by name, not placed at random."""
    with pytest.raises(TakeError, match="empty or silent"):
        beat_point(sound, RATE)


@pytest.mark.parametrize("value", [np.nan, np.inf])
def test_values_that_are_not_numbers_are_refused(value: float) -> None:
    """A damaged recording is refused by name."""
    sound = vowel(0.01)
    sound[7] = value
    with pytest.raises(TakeError, match="not numbers"):
        beat_point(sound, RATE)


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_supplied_beat_points_are_what_the_rule_finds(language: str) -> None:
    """The table in use and the sound in use belong together, overrides included."""
    windows = beat_windows(language)
    table = tomllib.loads((SAMPLES / language / "words.toml").read_text(encoding="utf-8"))
    assert set(windows) <= set(table["words"])
    for key, entry in table["words"].items():
        sound, rate = soundfile.read(SAMPLES / language / entry["file"])
        found = beat_point(sound, rate, **windows.get(key, {}))
        assert entry["beat_point_s"] == pytest.approx(found, abs=1e-6), key


def test_every_override_changes_something_and_says_why() -> None:
    """An exception that has become needless is taken out."""
    overrides = tomllib.loads((SAMPLES / "overrides.toml").read_text(encoding="utf-8"))["override"]
    for entry in overrides:
        folder = SAMPLES / entry["language"]
        words = tomllib.loads((folder / "words.toml").read_text(encoding="utf-8"))["words"]
        moved = []
        for key in entry["keys"]:
            sound, rate = soundfile.read(folder / words[key]["file"])
            moved.append(abs(beat_point(sound, rate) - words[key]["beat_point_s"]))
        assert max(moved) > 0.01, entry
        assert len(entry["reason"]) > 20
