"""Short sounds for a page: cut where asked, silent outside, small enough to carry."""

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.storage.clips import mp3_bytes, pieces
from rhythmtrain.storage.recordings import open_recording

RATE = 22_050


@pytest.fixture
def ramp(tmp_path: Path) -> Path:
    """Return a recording of two seconds whose samples say when they are."""
    path = tmp_path / "ramp.wav"
    soundfile.write(path, np.linspace(0, 0.5, 2 * RATE, dtype=np.float32), RATE, subtype="FLOAT")
    return path


def test_a_piece_is_the_sound_between_its_times(ramp: Path) -> None:
    """To the sample, at the recording's own rate; pieces may overlap."""
    first, second = pieces(open_recording(ramp), [(0.5, 1.0), (0.75, 1.5)], rate=RATE)
    assert (len(first), len(second)) == (round(0.5 * RATE), round(0.75 * RATE))
    assert first[0] == pytest.approx(0.125, abs=1e-4)
    assert first[-1] == pytest.approx(0.25, abs=1e-4)
    assert second[0] == pytest.approx(0.1875, abs=1e-4)


def test_outside_the_recording_is_silence(ramp: Path) -> None:
    """A bar begun before the microphone was on still has its length."""
    before, after, beyond = pieces(
        open_recording(ramp), [(-0.5, 0.5), (1.5, 2.5), (9.0, 9.0)], rate=RATE
    )
    assert not before[: RATE // 2].any()
    assert before[-1] == pytest.approx(0.125, abs=1e-4)
    assert not after[RATE // 2 + 1 :].any()
    assert after[0] == pytest.approx(0.375, abs=1e-4)
    assert len(beyond) == 1


def test_a_piece_is_brought_to_another_rate(ramp: Path) -> None:
    """The page plays all of them at one."""
    (piece,) = pieces(open_recording(ramp), [(0.5, 1.0)], rate=2 * RATE)
    assert len(piece) == pytest.approx(RATE, abs=4)
    assert piece[RATE // 2] == pytest.approx(0.1875, abs=2e-3)


def test_a_clip_is_an_mp3_file_that_plays() -> None:
    """What is louder than full scale is held to it."""
    tone = 2 * np.sin(np.arange(44_100) * 0.05).astype(np.float32)
    data = mp3_bytes(tone, 44_100)
    sound, rate = soundfile.read(BytesIO(data))
    assert rate == 44_100
    assert len(sound) == pytest.approx(44_100, abs=3_000)
    assert 0.8 < np.abs(sound).max() < 1.3
    assert len(data) < 40_000
