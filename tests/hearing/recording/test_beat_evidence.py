"""What a recording shows of its beats: spectra in blocks, onsets, phases, and the ends."""

import resource

import numpy as np
import pytest

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.hearing.recording.active_span import active_span
from rhythmtrain.hearing.recording.beat_evidence import (
    FRAMES_A_SECOND,
    band_rises,
    beat_evidence,
    normalised,
)
from rhythmtrain.hearing.recording.chroma import chroma_change, pitch_levels
from rhythmtrain.hearing.recording.spectra import LOWEST_PITCH, Spectra, SpectraFinder
from tests.simulate.mapping_trials import heard
from tests.simulate.performances import HELD_OUT, Performed, perform


@pytest.fixture(scope="module")
def played() -> Performed:
    """Return a steady performance of sixteen bars that nothing was chosen on."""
    return perform(HELD_OUT + 40, expressive=False, bars=16)


def tone(pitch: int, seconds: float, rate: int) -> np.ndarray:
    """Return a sine of MIDI ``pitch`` with soft ends."""
    t = np.arange(int(seconds * rate)) / rate
    ends = np.clip(np.minimum(t, t[-1] - t) / 0.05, 0, 1)
    wave = np.sin(2 * np.pi * 440 * 2 ** ((pitch - 69) / 12) * t)
    sound: np.ndarray = (ends * 0.3 * wave).astype(np.float32)
    return sound


@pytest.mark.parametrize("block", [997, 22_050, 10**9])
def test_any_size_of_block_gives_the_same_pictures(played: Performed, block: int) -> None:
    """A long file read in blocks is heard as one read at once."""
    sound = played.sound[: 10 * played.rate]
    whole = SpectraFinder(played.rate)
    whole.feed(sound)
    one = whole.finish()
    parts = SpectraFinder(played.rate)
    for start in range(0, sound.size, block):
        parts.feed(sound[start : start + block])
    other = parts.finish()
    np.testing.assert_allclose(other.bands, one.bands, rtol=1e-4, atol=1e-12)
    np.testing.assert_allclose(other.pitches, one.pitches, rtol=1e-4, atol=1e-12)
    assert one.duration_s == pytest.approx(10)
    assert (len(one.bands), len(one.pitches)) == (1001, 501)


@pytest.mark.parametrize("rate", [8000, 11_025, 22_050, 44_100, 48_000])
def test_a_click_is_in_its_frame_after_minutes_at_every_rate(rate: int) -> None:
    """A frame rate that is only nearly exact would drift by half a second in four minutes."""
    sound = np.zeros(120 * rate, np.float32)
    rng = np.random.default_rng(1)
    sound += 1e-4 * rng.standard_normal(sound.size).astype(np.float32)
    sound[117 * rate : 117 * rate + rate // 100] += 0.5
    rises = band_rises(heard(sound, rate).bands).mean(axis=1)
    assert (100 + np.argmax(rises[100:])) / FRAMES_A_SECOND == pytest.approx(117, abs=0.025)


def test_a_tone_stands_in_its_semitone() -> None:
    """What sounds is found where it is written."""
    spectra = heard(tone(60, 2.0, 22_050), 22_050)
    levels = pitch_levels(spectra.pitches)
    assert (np.argmax(levels[20:80], axis=1) == 60 - LOWEST_PITCH).all()


def test_a_change_of_harmony_shows_where_it_happens_and_only_there() -> None:
    """The same chord struck again changes nothing."""
    sound = np.concatenate((tone(60, 2, 22_050), tone(60, 2, 22_050), tone(65, 2, 22_050)))
    change = chroma_change(heard(sound, 22_050).pitches)
    assert np.argmax(change) * 0.02 == pytest.approx(4.0, abs=0.12)
    assert change[95:106].max() < 0.2 * change.max()


def test_soft_pages_count_as_much_as_loud_ones() -> None:
    """A pianissimo has beats too."""
    spikes = np.zeros(6000)
    spikes[::50] = 1.0
    spikes[3000:] *= 0.3
    shares = normalised(np.convolve(spikes, np.hanning(9), "same"))
    assert shares[4500:5500].max() == pytest.approx(shares[500:1500].max(), rel=0.05)
    assert 0 <= shares.min() <= shares.max() <= 1.5


def test_onsets_peak_on_the_notes(played: Performed) -> None:
    """The curve's own lag is taken out: to 5 ms in the middle, on an instrument never tuned on."""
    onsets = beat_evidence(heard(played.sound, played.rate)).onsets
    tops = np.flatnonzero((onsets[1:-1] > onsets[:-2]) & (onsets[1:-1] >= onsets[2:])) + 1
    tops_s = tops[onsets[tops] > 0.4] / FRAMES_A_SECOND
    away = np.array([tops_s[np.argmin(np.abs(tops_s - beat))] - beat for beat in played.beats_s])
    assert abs(np.median(away[np.abs(away) < 0.05])) <= 0.005


def test_beats_look_more_like_beats_than_halves_do(played: Performed) -> None:
    """The logistic mix prefers the right phase on the whole, and is no oracle for one beat."""
    phases = beat_evidence(heard(played.sound, played.rate)).phases
    assert phases.shape[0] == 7
    beats = np.rint(played.beats_s * FRAMES_A_SECOND).astype(int)
    halves = np.rint((beats[1:] + beats[:-1]) / 2).astype(int)
    assert phases[0, beats].mean() > phases[0, halves].mean() + 0.3
    rather = phases[0] - phases[6]
    assert rather[beats].mean() > rather[halves].mean() + 0.3


@pytest.mark.parametrize("seed", range(HELD_OUT + 50, HELD_OUT + 54))
def test_silence_noise_and_applause_lie_outside_the_music(seed: int) -> None:
    """The ends are told by what sounds, not by how loud it is."""
    shown = perform(seed, expressive=True, bars=10, before_s=5.0, applause_s=9.0, noise_db=-42)
    begun, ended = active_span(heard(shown.sound, shown.rate))
    assert begun == pytest.approx(float(shown.onsets_s.min()), abs=0.4)
    assert shown.onsets_s.max() - 1.5 < ended < shown.sound.size / shown.rate - 8.0


def test_noise_alone_has_no_span_but_its_whole() -> None:
    """Nothing stands out, so nothing is cut away."""
    noise = 0.1 * np.random.default_rng(3).standard_normal(5 * 22_050).astype(np.float32)
    assert active_span(heard(noise, 22_050)) == (0.0, 5.0)


@pytest.mark.parametrize(
    ("sound", "words"),
    [
        (np.zeros(0, np.float32), "the recording is empty"),
        (np.zeros(22_050, np.float32), "the recording is silent"),
        (np.full(22_050, np.nan, np.float32), "the recording is damaged"),
    ],
)
def test_a_recording_of_nothing_is_refused(sound: np.ndarray, words: str) -> None:
    """One sentence instead of a map of silence."""
    with pytest.raises(TakeError, match=words):
        heard(sound, 22_050)


def test_a_rate_too_low_to_hear_pitches_is_refused() -> None:
    """Telephones of the last century."""
    with pytest.raises(RequestError, match="sample rate must be"):
        SpectraFinder(4000)


def test_five_minutes_take_little_memory() -> None:
    """An old laptop maps a whole movement; pictures of five minutes are 17 MB."""
    rng = np.random.default_rng(5)
    finder = SpectraFinder(44_100)
    before_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for _ in range(60):
        finder.feed(0.1 * rng.standard_normal(5 * 44_100).astype(np.float32))
    spectra: Spectra = finder.finish()
    beat_evidence(spectra)
    grown_kb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before_kb
    assert spectra.bands.nbytes + spectra.pitches.nbytes < 20e6
    assert grown_kb < 400_000
