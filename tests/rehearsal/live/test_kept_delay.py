"""A measured sound delay is there again the next time, for the same devices."""

from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.rehearsal.live.beside import heard_beside
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.sound_delay import Delay, keep_delay, kept_delay

RATE = 44_100


def test_what_was_measured_is_taken_off_next_time(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody measures before every take."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path))
    gathered = Gathered(48_000, "loopback", "keys", "JACK")
    assert kept_delay(gathered) is None
    keep_delay(gathered, 0.031, 0.002, how="tapped")
    assert kept_delay(gathered) == Delay(0.031, 0.002, known=True)
    for other in (
        Gathered(48_000, "headphones", "keys", "JACK"),
        Gathered(44_100, "loopback", "keys", "JACK"),
        Gathered(48_000, "loopback", "pad", "JACK"),
        Gathered(48_000, "loopback", "keys", "ALSA"),
    ):
        assert kept_delay(other) is None


def test_a_microphone_that_hears_the_loudspeaker_measures_afresh_and_says_so() -> None:
    """The kept delay of another day gives way to what is heard now."""
    rng = np.random.default_rng(2)
    track = np.zeros(8 * RATE, np.float32)
    for at in range(RATE, 7 * RATE, 17_000):
        track[at : at + 3000] = 0.2 * rng.standard_normal(3000)
    heard = np.concatenate([np.zeros(1234, np.float32), 0.3 * track])[: len(track)]
    heard = (heard + 1e-4 * rng.standard_normal(len(heard))).astype(np.float32)
    beside = heard_beside(heard, track, RATE, kept=Delay(0.2, 0.01, known=True))
    assert beside.delay.delay_s == pytest.approx(1234 / RATE, abs=1e-4)
    assert "heard the loudspeaker" in beside.remarks[0]
    assert beside.take.heard == ()


def test_with_headphones_the_kept_delay_holds() -> None:
    """Only the player is heard."""
    rng = np.random.default_rng(3)
    sound = 1e-4 * rng.standard_normal(4 * RATE)
    for at in range(RATE, 3 * RATE, RATE // 2):
        sound[at : at + 2000] += rng.standard_normal(2000) * np.exp(-np.arange(2000) / 150)
    track = (0.1 * rng.standard_normal(4 * RATE)).astype(np.float32)
    beside = heard_beside(sound.astype(np.float32), track, RATE, kept=Delay(0.2, 0.01, known=True))
    assert beside.delay == Delay(0.2, 0.01, known=True)
    assert beside.remarks == ()
    assert beside.take.times_s[0] == pytest.approx(0.8, abs=0.002)
