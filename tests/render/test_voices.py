"""The strokes: a click or clap begins exactly on its place and is heard apart from the others."""

import numpy as np
import pytest

from rhythmtrain.render.voices import BEAT, BETWEEN, DOWNBEAT, WOOD, Bar, clapped, struck

RATES = (44_100, 48_000)
BARS = {"downbeat": DOWNBEAT, "beat": BEAT, "between": BETWEEN, "wood": WOOD}
SOFTEST_GAIN = 10 ** (-26 / 20)  # between the beats, in a track turned down by 6 dB


def strokes(rate: int) -> dict[str, np.ndarray[tuple[int], np.dtype[np.float32]]]:
    """Return every stroke by name."""
    return {"clap": clapped(rate), **{name: struck(bar, rate) for name, bar in BARS.items()}}


@pytest.mark.parametrize("rate", RATES)
def test_the_first_sample_of_a_stroke_is_heard_also_in_16_bits(rate: int) -> None:
    """A stroke's place can be read from the file: its first sample that is not 0."""
    for name, sound in strokes(rate).items():
        assert round(abs(float(sound[0])) * SOFTEST_GAIN * 32767) >= 1, name


@pytest.mark.parametrize("rate", RATES)
def test_a_stroke_has_peak_1_and_ends_in_silence(rate: int) -> None:
    """Levels hold, and no stroke ends with a tick of its own."""
    for name, sound in strokes(rate).items():
        assert np.abs(sound).max() == pytest.approx(1.0, abs=1e-6), name
        assert sound[-1] == 0, name
        assert np.abs(sound[-round(0.002 * rate) :]).max() < 2e-3, name


@pytest.mark.parametrize("rate", RATES)
def test_a_stroke_is_at_its_loudest_within_its_first_milliseconds(rate: int) -> None:
    """What is felt as the beat is the place: the crest comes at most 3 ms after it."""
    for name, sound in strokes(rate).items():
        assert np.abs(sound).argmax() <= 0.003 * rate, name


@pytest.mark.parametrize("rate", RATES)
def test_clicks_lie_where_a_piano_has_little(rate: int) -> None:
    """The click is heard over the accompaniment: strongest between 2.5 and 4 kHz."""
    for bar in (DOWNBEAT, BEAT, BETWEEN):
        assert 2450 <= strongest_hz(struck(bar, rate), rate) <= 4000


def test_the_downbeat_is_told_from_the_beats_and_the_cue_from_both() -> None:
    """One hears where the bar begins, and the cue is never taken for the metronome."""
    down, beat, wood = (strongest_hz(struck(bar, 48_000), 48_000) for bar in (DOWNBEAT, BEAT, WOOD))
    assert down > 1.25 * beat > 3 * wood


def test_the_clap_is_noise_and_the_click_is_a_tone() -> None:
    """The rhythm to clap cannot be mistaken for the metronome."""
    assert flatness(clapped(48_000)) > 5 * flatness(struck(BEAT, 48_000))


def test_a_partial_that_the_rate_cannot_carry_is_left_out() -> None:
    """At a low rate a click has fewer partials, not wrong ones."""
    high = Bar(((3000.0, 1.0, 0.008), (8280.0, 1.0, 0.008)), 0.002)
    assert np.array_equal(struck(high, 16_000), struck(Bar(high.partials[:1], 0.002), 16_000))


def test_every_run_gives_the_same_clap() -> None:
    """A track made again is the same file."""
    clapped.cache_clear()
    first = clapped(44_100)
    clapped.cache_clear()
    assert np.array_equal(first, clapped(44_100))


def strongest_hz(sound: np.ndarray[tuple[int], np.dtype[np.float32]], rate: int) -> float:
    """Return the frequency of the largest spectral value."""
    spectrum = np.abs(np.fft.rfft(sound, rate))
    return float(spectrum.argmax())


def flatness(sound: np.ndarray[tuple[int], np.dtype[np.float32]]) -> float:
    """Return the geometric over the arithmetic mean of the power below 12 kHz."""
    power = np.abs(np.fft.rfft(sound, 48_000)[100:12_000]) ** 2 + 1e-12
    return float(np.exp(np.log(power).mean()) / power.mean())
