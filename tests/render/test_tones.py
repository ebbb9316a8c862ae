"""The tones: right pitch, even loudness, no clicks at their ends."""

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.render.tones import CUE, TUNE, Timbre, sounding, tone, tone_gain

RATE = 44_100
TIMBRES = st.sampled_from([TUNE, CUE])


@given(TIMBRES, st.integers(36, 96), st.integers(200, 40_000))
@settings(max_examples=40)
def test_a_tone_begins_and_ends_in_silence(timbre: Timbre, pitch: int, length: int) -> None:
    """A tune has no ticks between its notes: no step is larger than the tone's own curve."""
    sound = tone(timbre, (pitch,), length, RATE)
    assert len(sound) == length
    assert sound[0] == 0
    assert abs(float(sound[-1])) < 1e-3 * float(np.abs(sound).max())


@pytest.mark.parametrize("timbre", [TUNE, CUE])
@pytest.mark.parametrize("pitch", [45, 60, 69, 81])
def test_a_tone_has_its_pitch(timbre: Timbre, pitch: int) -> None:
    """One can tune to it: the strongest partial lies at 440 · 2^((p - 69)/12)."""
    sound = tone(timbre, (pitch,), RATE, RATE)
    spectrum = np.abs(np.fft.rfft(sound, 4 * RATE))
    assert spectrum.argmax() / 4 == pytest.approx(440 * 2 ** ((pitch - 69) / 12), abs=0.5)


@pytest.mark.parametrize("timbre", [TUNE, CUE])
@pytest.mark.parametrize("pitches", [(48,), (60,), (72,), (84,), (55, 60, 64, 70)])
def test_every_pitch_and_chord_is_equally_loud(timbre: Timbre, pitches: tuple[int, ...]) -> None:
    """The tune has no holes in the low register; measured by pyloudnorm within 0.5 LU."""
    note = tone(timbre, pitches, RATE // 2, RATE) * 10 ** (-25 / 20)
    row = np.tile(note[:, None], (8, 2)).astype(np.float64)
    assert pyloudnorm.Meter(RATE).integrated_loudness(row) == pytest.approx(-25, abs=0.5)


@pytest.mark.parametrize("length_s", [0.2, 1.0, 3.0])
def test_a_long_note_of_the_tune_is_about_as_loud_as_a_short_one(length_s: float) -> None:
    """Sixteenths and whole notes stand at one level, within 1.2 LU."""
    note = tone(TUNE, (67,), round(length_s * RATE), RATE) * 10 ** (-25 / 20)
    row = np.tile(note[:, None], (15, 2)).astype(np.float64)
    assert pyloudnorm.Meter(RATE).integrated_loudness(row) == pytest.approx(-25, abs=1.2)


def test_the_cue_dies_away_and_the_tune_is_held() -> None:
    """The accompanist's notes are not taken for the tune."""
    held, plucked = (tone(each, (60,), 2 * RATE, RATE) for each in (TUNE, CUE))
    second = slice(RATE, RATE + RATE // 2)
    assert np.abs(plucked[second]).max() < 0.2 * np.abs(plucked[: RATE // 2]).max()
    assert np.abs(held[second]).max() > 0.6 * np.abs(held[: RATE // 2]).max()


def test_a_pitch_the_rate_cannot_carry_is_silent() -> None:
    """A wrong octave in a score gives silence, never a wrong pitch."""
    assert tone_gain(TUNE, (127,), 22_050) == 0
    assert not tone(TUNE, (127,), 1000, 22_050).any()


def test_a_very_short_note_can_still_be_heard() -> None:
    """A grace-like note is not a tick."""
    assert sounding(0.0, RATE) == round(0.05 * RATE)
    assert sounding(1.5, RATE) == round(1.5 * RATE)
