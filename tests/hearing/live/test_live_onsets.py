"""Onsets for the eye: soon, and nearly where they are heard to be afterwards."""

import numpy as np
import pytest

from rhythmtrain.hearing.live.onsets import LiveOnset, LiveOnsets
from rhythmtrain.hearing.onsets.onsets import find_onsets
from tests.simulate.aloud_takes import aloud_take
from tests.simulate.onset_score import scored
from tests.simulate.scenes import HELD_OUT, SETS, takes
from tests.simulate.sounds import Scene, pink_noise

BLOCK_S = 0.02
SOON_S = 0.06


def _heard(
    scene: Scene, kind: str, *, aloud: bool = False, block: int | None = None
) -> list[tuple[LiveOnset, float]]:
    """Return each onset with how long after it began it was told, in seconds of sound."""
    size = block or round(BLOCK_S * scene.rate)
    live, found = LiveOnsets(scene.rate, kind=kind, aloud=aloud), []
    for first in range(0, scene.sound.size, size):
        part = scene.sound[first : first + size].astype(np.float32)
        now_s = (first + part.size) / scene.rate
        found += [(onset, now_s - onset.time_s) for onset in live.feed(part)]
    return found


@pytest.mark.parametrize(
    ("name", "least"),
    [("claps, 10-40 dB", 0.97), ("soft hand taps", 0.95), ("held out, 10-40 dB", 0.98)],
)
def test_claps_are_shown_within_60_ms_where_they_are(name: str, least: float) -> None:
    """Who claps sees the mark at once, and it does not move afterwards."""
    kind = {**SETS, **HELD_OUT}[name][1]
    for scene in takes(name, 2, seed=8):
        found = _heard(scene, kind)
        assert max(late_s for _, late_s in found) <= SOON_S
        refined = [o.time_s for o in find_onsets(scene.sound, scene.rate, kind=kind)]
        score = scored([(refined, [onset.time_s for onset, _ in found])])
        assert score.f >= least
        assert score.error_s(100) <= 0.02


@pytest.mark.parametrize(("name", "least"), [("reed notes", 0.85), ("syllables", 0.85)])
def test_notes_are_shown_within_60_ms(name: str, least: float) -> None:
    """Whoever blows or speaks is shown too."""
    scene, kind = takes(name, 1, seed=8)[0], SETS[name][1]
    found = _heard(scene, kind)
    assert max(late_s for _, late_s in found) <= SOON_S
    assert scored([(scene.onsets_s, [onset.time_s for onset, _ in found])]).f >= least


def test_most_words_of_who_counts_aloud_are_not_shown() -> None:
    """A screen full of marks where nothing was clapped would be read as a fault."""
    scene = aloud_take("held out", "voice -12 to -6 dB", 2).scene
    heard = [onset.time_s for onset, _ in _heard(scene, "claps", aloud=True)]
    plain = [onset.time_s for onset, _ in _heard(scene, "claps")]
    aloud, all_sounds = scored([(scene.onsets_s, heard)]), scored([(scene.onsets_s, plain)])
    assert aloud.matched >= 0.95 * aloud.true
    assert aloud.found - aloud.matched < 0.5 * (all_sounds.found - all_sounds.matched)


@pytest.mark.parametrize("block", [64, 441, 4096])
def test_any_block_size_shows_the_same(block: int) -> None:
    """Sound cards differ."""
    scene = takes("claps, 10-40 dB", 1, seed=9)[0]
    expected = [onset.time_s for onset, _ in _heard(scene, "claps")]
    found = [onset.time_s for onset, _ in _heard(scene, "claps", block=block)]
    assert found == pytest.approx(expected)


def test_noise_shows_nothing() -> None:
    """An empty room leaves the lane empty."""
    noise = 0.05 * pink_noise(np.random.default_rng(3), 8 * 44_100)
    assert len(_heard(Scene(noise, 44_100, ()), "claps")) <= 1
