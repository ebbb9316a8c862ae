"""Claps told from the player's own counting, feet and breath: reach, and what must never happen."""

import numpy as np
import pytest

from rhythmtrain.hearing.onsets.onsets import OnsetFinder, find_onsets
from rhythmtrain.hearing.onsets.sorting import sorted_out
from rhythmtrain.hearing.onsets.strokes import strokes_near
from tests.simulate.aloud_table import measured
from tests.simulate.aloud_takes import CASES, aloud_take
from tests.simulate.scenes import HELD_OUT, SETS, takes
from tests.simulate.sounds import pink_noise, talk

RATE = 44_100
HELD = "held out"
REACH = {
    "voice -18 to -12 dB": 0.99,
    "voice -12 to -6 dB": 0.97,
    "voice -6 to 0 dB": 0.97,
    "voice, live room": 0.97,
    "voice, noisy room": 0.97,
    "foot": 0.97,
    "sniffs and breath": 0.97,
    "voice, foot, breath": 0.97,
}


@pytest.mark.parametrize("name", ["voice -12 to -6 dB", "voice, foot, breath"])
def test_claps_are_told_from_the_counting_voice(name: str) -> None:
    """Whoever counts aloud, as every teacher asks, is not told of claps that were words."""
    row = measured(HELD, name, 2)
    assert row.score.f >= 0.96
    assert row.false < 1
    assert row.score.error_s(95) < 0.006
    assert row.before == 0
    assert measured(HELD, name, 1, aloud=False).score.f < 0.9


@pytest.mark.long
@pytest.mark.parametrize(("name", "least"), REACH.items())
def test_reach_on_voices_and_rooms_that_nothing_was_chosen_on(name: str, least: float) -> None:
    """The figures that the README promises: a voice that is softer than the claps."""
    row = measured(HELD, name, 8)
    assert row.score.f >= least
    assert row.false < 1
    assert row.before == 0


@pytest.mark.parametrize(
    "name",
    ["claps, 10-40 dB", "sharp taps, 10-40 dB", "soft hand taps", "held out, 10-40 dB"],
)
def test_who_claps_without_a_word_loses_nothing(name: str) -> None:
    """Sorting is the default before a microphone: it must not cost a silent counter a clap."""
    kind = {**SETS, **HELD_OUT}[name][1]
    lost = true = 0
    for scene in takes(name, 3, seed=77):
        plain = find_onsets(scene.sound, scene.rate, kind=kind)
        aloud = find_onsets(scene.sound, scene.rate, kind=kind, aloud=True)
        lost, true = lost + max(0, len(plain) - len(aloud)), true + len(plain)
    assert lost <= 0.02 * true


def test_quiet_talk_in_the_room_is_no_clap() -> None:
    """A player who listens first, while others talk, has clapped nothing."""
    rng = np.random.default_rng(4)
    n = 12 * RATE
    room = 0.002 * talk(rng, n, RATE) + 0.0002 * pink_noise(rng, n)
    assert len(find_onsets(room, RATE)) > 10
    assert find_onsets(room, RATE, aloud=True) == ()


def test_noise_alone_is_no_clap() -> None:
    """An empty room stays empty."""
    noise = 0.05 * pink_noise(np.random.default_rng(5), 5 * RATE)
    assert find_onsets(noise, RATE, aloud=True) == ()


def test_a_soft_recording_is_heard_as_a_loud_one() -> None:
    """A microphone far away hears the same claps."""
    scene = aloud_take(HELD, "voice -12 to -6 dB", 0).scene
    loud = find_onsets(scene.sound, scene.rate, aloud=True)
    soft = find_onsets(0.1 * scene.sound, scene.rate, aloud=True)
    assert [o.time_s for o in soft] == pytest.approx([o.time_s for o in loud], abs=0.002)


@pytest.mark.parametrize("size", [441, 5000, 60_000])
def test_any_block_size_sorts_alike(size: int) -> None:
    """Read from a file or heard from a microphone, a take is judged alike."""
    scene = aloud_take(HELD, "voice, foot, breath", 1).scene
    sound = scene.sound[: 10 * scene.rate]
    finder = OnsetFinder(scene.rate, aloud=True)
    early = [finder.feed(sound[i : i + size]) for i in range(0, sound.size, size)]
    assert not any(early)
    assert finder.finish() == find_onsets(sound, scene.rate, aloud=True)


def test_aloud_says_nothing_about_instruments() -> None:
    """Nobody counts aloud with a clarinet in the mouth."""
    scene = aloud_take(HELD, "reed, breath, keys", 0).scene
    sound = scene.sound[: 8 * scene.rate]
    plain = find_onsets(sound, scene.rate, kind="wind")
    assert find_onsets(sound, scene.rate, kind="wind", aloud=True) == plain


def test_nothing_heard_is_nothing_sorted() -> None:
    """The empty take has no usual stroke to ask for."""
    assert sorted_out([], []) == []


def test_a_clap_inside_a_word_is_found_where_it_is() -> None:
    """The word begins before the clap on the same beat; the clap is what counts."""
    sound = np.zeros(RATE, np.float32)
    t = np.arange(8000) / RATE
    vowel = 0.1 * np.sin(2 * np.pi * 180 * t) * np.minimum(1, t / 0.02)
    sound[20_000:28_000] += vowel.astype(np.float32)
    burst = np.random.default_rng(1).standard_normal(400) * np.exp(-np.arange(400) / 80)
    sound[21_000:21_400] += (0.5 * burst).astype(np.float32)
    steepest = strokes_near(sound, 20_100, RATE)[0]
    assert steepest.moved_s == pytest.approx(900 / RATE, abs=0.003)


def test_a_soft_hand_beside_a_hiss_is_looked_for_below_one_kilohertz() -> None:
    """A hand on a thigh has nothing above; an s on the same beat has nothing below."""
    t = np.arange(8000) / RATE
    sound = np.zeros(RATE, np.float32)
    thump = 0.3 * np.sin(2 * np.pi * 250 * t) * np.exp(-t / 0.02) * np.minimum(1, t / 0.003)
    sound[21_000:29_000] += thump.astype(np.float32)
    hiss = np.diff(np.random.default_rng(4).standard_normal(2001), 2)
    sound[19_200:21_199] += (0.2 * hiss).astype(np.float32)
    found = [20_000 + round(each.moved_s * RATE) for each in strokes_near(sound, 20_000, RATE)]
    assert abs(found[0] - 19_200) < 0.003 * RATE
    assert min(abs(at - 21_000) for at in found) < 0.006 * RATE


def test_soft_hands_under_the_own_voice_are_heard() -> None:
    """Looked for above 1 kHz alone, 6 of these 28 would be lost behind the words they fall on."""
    row = measured("tune", "voice and soft hands", 1, first=1501)
    assert row.refused == 0
    assert row.score.f >= 0.97
    assert row.false < 1


def test_words_that_are_no_plain_strangers_are_words_too() -> None:
    """Soft hands and a low voice have much in common: fifteen words passed as claps."""
    row = measured("tune", "voice and soft hands", 1, first=40_006)
    assert row.refused == 1 or row.false < 1


def test_every_case_says_what_it_listens_for() -> None:
    """The table covers hands, voice, wind and strings."""
    assert {case.kind for case in CASES.values()} == {"claps", "voice", "wind", "strings"}
