"""Hearing a take: whatever file a person has, as onsets on one clock."""

from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import FileError, RequestError, TakeError
from rhythmtrain.rehearsal.checking import listening
from rhythmtrain.rehearsal.checking.listening import hear_take

RATE = 22_050


def _claps(path: Path, times_s: list[float]) -> Path:
    sound = np.random.default_rng(2).normal(0, 1e-4, round((max(times_s) + 1) * RATE))
    burst = np.random.default_rng(3).normal(0, 0.3, 450) * np.exp(-np.arange(450) / 80)
    for time in times_s:
        sound[round(time * RATE) :][:450] += burst
    soundfile.write(path, sound, RATE)
    return path


def test_claps_are_heard_where_they_are(tmp_path: Path) -> None:
    """To a few milliseconds, with progress in seconds."""
    steps: list[float] = []
    times = [0.5, 1.0, 1.75, 2.5]
    take = hear_take(
        _claps(tmp_path / "a.WAV", times), progress=lambda done, _total, _what: steps.append(done)
    )
    assert take.times_s == pytest.approx(times, abs=0.004)
    assert (take.source, take.name) == ("audio", "a.WAV")
    assert take.duration_s == pytest.approx(3.5, abs=0.01)
    assert steps[-1] == pytest.approx(3.5, abs=0.01)


def test_text_and_midi_are_read_by_their_endings(tmp_path: Path) -> None:
    """No sound is needed."""
    text = tmp_path / "a.txt"
    text.write_text("1.0\n0.5\n", encoding="utf-8")
    assert hear_take(text).times_s == (0.5, 1.0)
    file = mido.MidiFile()
    track = mido.MidiTrack()
    track.append(mido.Message("note_on", note=60, velocity=90, time=480))
    track.append(mido.Message("note_off", note=60, time=240))
    file.tracks.append(track)
    file.save(tmp_path / "a.mid")
    assert hear_take(tmp_path / "a.mid").source == "midi"


@pytest.mark.parametrize(
    ("name", "error", "words"),
    [
        ("gone.xyz", FileError, "gone.xyz"),
        ("drill.toml", FileError, "not a kind of take that can be read"),
        ("silent.wav", TakeError, "silent.wav"),
    ],
)
def test_what_cannot_be_heard_says_so(
    tmp_path: Path, name: str, error: type[Exception], words: str
) -> None:
    """With the file's name."""
    (tmp_path / "drill.toml").write_text("x", encoding="utf-8")
    soundfile.write(tmp_path / "silent.wav", np.zeros(RATE), RATE)
    with pytest.raises(error, match=words):
        hear_take(tmp_path / name)


def test_noise_without_claps_asks_for_the_microphone(tmp_path: Path) -> None:
    """A fan is not a take."""
    soundfile.write(tmp_path / "fan.wav", np.random.default_rng(1).normal(0, 0.1, 3 * RATE), RATE)
    with pytest.raises(TakeError, match="no clap or note was heard; was the microphone on"):
        hear_take(tmp_path / "fan.wav")


def test_a_sound_nobody_listens_for_is_refused(tmp_path: Path) -> None:
    """The kinds are named."""
    with pytest.raises(RequestError, match="kind of sound must be one of claps"):
        hear_take(_claps(tmp_path / "a.wav", [0.5]), kind="drums")


def test_a_recording_of_a_whole_day_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Memory and patience stay bounded."""
    monkeypatch.setattr(listening, "LONGEST_S", 1.0)
    with pytest.raises(TakeError, match="cut out the part to hear"):
        hear_take(_claps(tmp_path / "a.wav", [0.5, 2.5]))
