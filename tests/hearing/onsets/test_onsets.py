"""What is heard in a recording, and when: reach on made sets, and laws that hold for any sound."""

import tracemalloc
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.hearing.onsets.kinds import KINDS
from rhythmtrain.hearing.onsets.onset import Onset
from rhythmtrain.hearing.onsets.onsets import OnsetFinder, find_onsets
from tests.simulate.onset_score import Score, scored
from tests.simulate.scenes import HELD_OUT, SETS, takes
from tests.simulate.sounds import (
    Scene,
    clap,
    engine_hum,
    onset_sample,
    perform,
    pink_noise,
    reed_note,
    uneven_times,
    white_noise,
    with_noise,
)

RATE = 44100
SEED = 2024
TAKES = 4

SHARP = ("claps, 10-40 dB", "sharp taps, 10-40 dB", "taps beside a road", "held out, 10-40 dB")
NOISY = ("claps, 0-5 dB", "sharp taps, 0-5 dB", "held out, 0-5 dB")
SLOW = {"soft hand taps": 0.97, "syllables": 0.93, "reed notes": 0.90, "bowed notes": 0.90}


@cache
def performed(name: str) -> tuple[tuple[Scene, tuple[Onset, ...]], ...]:
    """Return the takes of a set with what is heard in them; onset is 5 % of the peak."""
    kind = {**SETS, **HELD_OUT}[name][1]
    scenes = takes(name, TAKES, seed=SEED)
    return tuple((s, find_onsets(s.sound, s.rate, kind=kind)) for s in scenes)


def reached(name: str) -> Score:
    """Return the score of the detector on a set."""
    return scored((s.onsets_s, [o.time_s for o in heard]) for s, heard in performed(name))


@pytest.fixture(scope="module")
def claps() -> Scene:
    """Return a dozen claps over soft noise."""
    rng = np.random.default_rng(3)
    played = perform(rng, clap, uneven_times(rng, 12))
    return with_noise(played, pink_noise(rng, played.sound.size), snr_db=30)


@pytest.mark.parametrize("name", SHARP)
def test_sharp_strokes_are_placed_within_a_millisecond(name: str) -> None:
    """A player who claps on the beat must not be told of an error the detector made."""
    score = reached(name)
    assert score.f >= 0.99
    assert score.error_s(50) <= 0.001
    assert score.error_s(95) <= 0.004
    assert abs(score.bias_s) <= 0.0005


@pytest.mark.parametrize("name", NOISY)
def test_strokes_as_soft_as_the_noise_are_still_heard(name: str) -> None:
    """A phone at the far end of a noisy room still hears the claps."""
    score = reached(name)
    assert score.f >= 0.97
    assert score.error_s(95) <= 0.006


@pytest.mark.parametrize(("name", "least"), SLOW.items())
def test_slow_sounds_are_found(name: str, least: float) -> None:
    """Soft hands, spoken syllables, reeds and strings count too, if less exactly."""
    assert reached(name).f >= least


def test_talk_in_the_room_hides_no_clap() -> None:
    """Somebody talking further away may add an onset, but takes none of the player's."""
    score = reached("claps beside talk")
    assert score.matched >= 0.98 * score.true
    assert score.f >= 0.85


@pytest.mark.parametrize("name", [*SHARP, *NOISY, "soft hand taps", "syllables"])
def test_uncertainty_is_honest(name: str) -> None:
    """Nineteen of twenty onsets lie within three of the errors that are claimed for them."""
    shares = []
    for scene, heard in performed(name):
        truth = np.array(scene.onsets_s)
        for onset in heard:
            error = np.abs(truth - onset.time_s).min()
            if error < 0.05:
                shares.append(error <= 3 * onset.uncertainty_s)
    assert np.mean(shares) >= 0.95


@pytest.mark.parametrize("kind", ["wind", "brass", "strings"])
def test_nothing_finer_than_twenty_milliseconds_is_claimed_for_slow_attacks(kind: str) -> None:
    """A clarinet's onset is no moment: a verdict of 10 ms on it would be false precision."""
    rng = np.random.default_rng(8)
    scene = perform(rng, reed_note, uneven_times(rng, 8, shortest_s=0.4))
    assert all(o.uncertainty_s >= 0.02 for o in find_onsets(scene.sound, RATE, kind=kind))


@settings(max_examples=12, deadline=None)
@given(sizes=st.lists(st.integers(1, 60_000), min_size=1, max_size=8))
def test_any_block_size_gives_the_same_onsets(claps: Scene, sizes: list[int]) -> None:
    """A recording read from a file and the same one read from a microphone are judged alike."""
    heard: list[Onset] = []
    finder, place, turn = OnsetFinder(RATE), 0, 0
    while place < claps.sound.size:
        heard += finder.feed(claps.sound[place : place + sizes[turn % len(sizes)]])
        place, turn = place + sizes[turn % len(sizes)], turn + 1
        if turn > 2000:
            heard += finder.feed(claps.sound[place:])
            break
    heard += finder.finish()
    assert tuple(heard) == find_onsets(claps.sound, RATE)


@pytest.mark.parametrize("size", [64, 441, 4096, 100_000])
def test_ordinary_block_sizes_give_the_same_onsets(claps: Scene, size: int) -> None:
    """The blocks of sound cards and files, small and large."""
    finder = OnsetFinder(RATE)
    blocks = [claps.sound[i : i + size] for i in range(0, claps.sound.size, size)]
    heard = [onset for block in blocks for onset in finder.feed(block)]
    assert (*heard, *finder.finish()) == find_onsets(claps.sound, RATE)


def test_a_buffer_that_is_used_again_does_no_harm(claps: Scene) -> None:
    """A sound card hands over the same memory for every block."""
    sound = claps.sound.astype(np.float32)
    heard: list[Onset] = []
    finder, buffer = OnsetFinder(RATE), np.zeros(512, np.float32)
    for place in range(0, sound.size - 511, 512):
        buffer[:] = sound[place : place + 512]
        heard += finder.feed(buffer)
    expected = find_onsets(sound[: sound.size // 512 * 512], RATE)
    assert (*heard, *finder.finish()) == expected


@settings(max_examples=10, deadline=None)
@given(gain_db=st.floats(-40, 6))
def test_loudness_of_the_recording_does_not_matter(claps: Scene, gain_db: float) -> None:
    """A phone that records softly hears the same rhythm."""
    plain = find_onsets(claps.sound, RATE)
    other = find_onsets(claps.sound * 10 ** (gain_db / 20), RATE)
    assert [o.time_s for o in other] == pytest.approx([o.time_s for o in plain], abs=3e-4)


@settings(max_examples=10, deadline=None)
@given(delay=st.integers(0, 60_000))
def test_a_later_start_shifts_every_onset_by_as_much(claps: Scene, delay: int) -> None:
    """Where the recording begins has no say in when the player played."""
    plain = find_onsets(claps.sound, RATE)
    noise = pink_noise(np.random.default_rng(1), delay + 1)[:delay]
    lead = noise * np.std(claps.sound[: RATE // 3])
    later = find_onsets(np.concatenate([lead, claps.sound]), RATE)
    assert len(later) == len(plain)
    moved = [o.time_s - delay / RATE for o in later]
    assert moved == pytest.approx([o.time_s for o in plain], abs=1e-3)


@pytest.mark.parametrize("rate", [8000, 16000, 22050, 48000, 96000])
def test_every_usual_rate_is_heard(rate: int) -> None:
    """From a telephone's 8 kHz to a studio's 96 kHz the claps stay where they are."""
    rng = np.random.default_rng(5)
    played = perform(rng, clap, uneven_times(rng, 12), rate=rate)
    scene = with_noise(played, pink_noise(rng, played.sound.size), snr_db=25)
    score = scored([(scene.onsets_s, [o.time_s for o in find_onsets(scene.sound, rate)])])
    assert score.f == 1
    assert score.error_s(95) <= 0.003


def test_channels_are_heard_together(claps: Scene) -> None:
    """A stereo file with the same sound left and right is the mono file."""
    pair = np.stack([claps.sound, claps.sound], axis=1)
    assert find_onsets(pair, RATE) == find_onsets(claps.sound, RATE)


def test_sixteen_bit_samples_are_heard_as_floats_are(claps: Scene) -> None:
    """A WAV file read as whole numbers needs no conversion by the caller."""
    whole = np.round(claps.sound * 32768).astype(np.int16)
    expected = [o.time_s for o in find_onsets(claps.sound, RATE)]
    assert [o.time_s for o in find_onsets(whole, RATE)] == pytest.approx(expected, abs=3e-4)


def quiet_sounds(seed: int) -> dict[str, NDArray[np.float64]]:
    """Return sounds in which nothing is played."""
    rng = np.random.default_rng(seed)
    t = np.arange(3 * RATE) / RATE
    swell = np.sin(np.pi * t / 3) ** 2
    return {
        "white noise": 0.1 * white_noise(rng, t.size),
        "pink noise": 0.05 * pink_noise(rng, t.size),
        "mains hum": 0.2 * np.sin(2 * np.pi * 50 * t) + 0.1 * np.sin(2 * np.pi * 150 * t),
        "hum in noise": 0.2 * np.sin(2 * np.pi * 50 * t) + 0.002 * white_noise(rng, t.size),
        "a car": 0.1 * engine_hum(rng, t.size, RATE),
        "a slow swell": 0.3 * swell * np.sin(2 * np.pi * 220 * t)
        + 0.001 * white_noise(rng, t.size),
        "a swelling noise": 0.1 * (0.1 + swell) * white_noise(rng, t.size),
    }


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("name", sorted(quiet_sounds(0)))
def test_nothing_played_is_nothing_heard(name: str, kind: str) -> None:
    """Three seconds of an empty room are no performance."""
    for seed in range(2):
        assert find_onsets(quiet_sounds(seed)[name], RATE, kind=kind) == ()


def test_long_noise_gives_less_than_one_onset_a_minute() -> None:
    """A player's long rest stays a rest."""
    noise = white_noise(np.random.default_rng(6), 120 * RATE)
    assert len(find_onsets(0.05 * noise, RATE)) <= 1


def test_a_clap_that_opens_the_recording_is_heard_at_zero() -> None:
    """A file that was cut at its first clap still has that clap."""
    rng = np.random.default_rng(2)
    stroke = clap(rng, RATE)
    sound = np.concatenate([stroke[onset_sample(stroke) :], np.zeros(RATE)])
    first = find_onsets(sound + 1e-4 * white_noise(rng, sound.size), RATE)
    assert len(first) == 1
    assert first[0].time_s < 0.002


@pytest.mark.parametrize(("gap_s", "count"), [(0.012, 1), (0.03, 1), (0.09, 2)])
def test_one_stroke_is_one_onset(gap_s: float, count: int) -> None:
    """Two hands that do not meet at once clap once; sixteenths at 160 are apart."""
    rng = np.random.default_rng(4)
    scene = perform(rng, clap, np.array([0.6, 0.6 + gap_s]), spread_db=1)
    sound = scene.sound + 1e-3 * white_noise(rng, scene.sound.size)
    found = find_onsets(sound, RATE)
    assert len(found) == count
    assert found[0].time_s == pytest.approx(scene.onsets_s[0], abs=0.002)


def test_a_sleeve_before_the_clap_is_not_the_clap() -> None:
    """A rustle 35 ms ahead of a far louder clap does not make the clap early."""
    rng = np.random.default_rng(21)
    stroke = clap(rng, RATE)
    sound = 1e-4 * white_noise(rng, 2 * RATE)
    for place, gain in ((1.0, 0.02), (1.035, 0.9)):
        start = int(place * RATE)
        sound[start : start + stroke.size] += gain * stroke
    found = find_onsets(sound, RATE)
    assert len(found) == 1
    assert found[0].time_s == pytest.approx(1.035, abs=0.003)


def test_onsets_come_in_the_order_of_time() -> None:
    """Whoever matches them to notes may rely on it."""
    for name in ("sharp taps, 0-5 dB", "claps beside talk", "syllables"):
        for _, heard in performed(name):
            times = [o.time_s for o in heard]
            assert times == sorted(times)


def test_a_stronger_stroke_has_more_strength() -> None:
    """Accents can be told from what is heard."""
    rng = np.random.default_rng(9)
    stroke = clap(rng, RATE)
    sound = 1e-3 * white_noise(rng, 3 * RATE)
    for place, gain in ((1.0, 0.1), (2.0, 0.5)):
        start = int(place * RATE)
        sound[start : start + stroke.size] += gain * stroke
    soft, strong = find_onsets(sound, RATE)
    assert strong.strength - soft.strength == pytest.approx(20 * np.log10(5), abs=3)


def test_a_long_recording_needs_the_memory_of_a_short_one() -> None:
    """An hour left running on a small laptop must not fill it."""
    rng = np.random.default_rng(7)
    scene = perform(rng, clap, uneven_times(rng, 20))
    sound = (scene.sound + 1e-3 * white_noise(rng, scene.sound.size)).astype(np.float32)
    finder = OnsetFinder(RATE)
    tracemalloc.start()
    count = sum(len(finder.feed(sound)) for _ in range(12)) + len(finder.finish())
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert count == pytest.approx(12 * 20, abs=3)
    assert peak < 40e6


@pytest.mark.parametrize(
    ("sound", "words"),
    [
        (np.zeros(0), "empty"),
        (np.zeros(RATE), "silent: all its samples are equal"),
        (np.full(RATE, 0.25), "silent: all its samples are equal"),
        (1e-5 * np.sin(np.arange(RATE)), "silent: all of it is below -90 dBFS"),
        (np.array([0.1, np.nan, 0.2]), "sample 1 is not a finite number"),
        (np.array([0.1, 0.2, -np.inf]), "sample 2 is not a finite number"),
        (np.zeros((4, 0)), "no channels"),
        (np.zeros((4, 2, 2)), "shape"),
        (np.array([1j, 0]), "real samples"),
    ],
)
def test_a_recording_nobody_can_hear_anything_in_is_refused(
    sound: NDArray[np.generic], words: str
) -> None:
    """The player is told what is wrong with the recording, in one sentence."""
    with pytest.raises(TakeError, match=words):
        find_onsets(sound, RATE)


def test_an_offset_is_not_loudness() -> None:
    """A cheap sound card's constant offset is neither a sound nor hides one."""
    rng = np.random.default_rng(12)
    scene = perform(rng, clap, uneven_times(rng, 6))
    sound = scene.sound * 0.3 + 1e-3 * white_noise(rng, scene.sound.size)
    assert len(find_onsets(sound + 0.4, RATE)) == len(find_onsets(sound, RATE)) == 6


@pytest.mark.parametrize("rate", [0, 7999, 44100.5, float("nan")])
def test_an_impossible_rate_is_refused(rate: float) -> None:
    """A wrong sample rate would stretch every verdict."""
    with pytest.raises(RequestError, match="sample rate"):
        OnsetFinder(rate)  # type: ignore[arg-type]


def test_an_unknown_kind_is_refused_with_the_known_ones() -> None:
    """The message lists what can be listened for."""
    with pytest.raises(
        RequestError, match="claps, voice, wind, brass, strings, plucked, got 'gong'"
    ):
        find_onsets(np.ones(9), RATE, kind="gong")


def test_an_onset_is_a_plain_value() -> None:
    """Onsets are numbers that can be stored, compared and printed."""
    onset = find_onsets(takes("claps, 10-40 dB", 1, seed=1)[0].sound, RATE)[0]
    assert isinstance(onset, Onset)
    assert all(type(v) is float for v in (onset.time_s, onset.strength, onset.uncertainty_s))
