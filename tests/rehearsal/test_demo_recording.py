"""The supplied take with the recorded piano: one entry a beat early, told beside the pianist."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.rehearsal.checking.check import CheckWish, check
from rhythmtrain.rehearsal.checking.checked import document
from rhythmtrain.rehearsal.checking.listening import hear_take
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.recorded.accompaniment import accompaniment_for
from rhythmtrain.storage.beat_maps import load_beat_map
from rhythmtrain.storage.places import drills_folder, samples_folder

NAME = "sluice-gate-rag"
TAKE = samples_folder() / "takes" / "playing.flac"
START_S = 0.6
LATE_ENTRY = (14, "2&")


def entries(path: Path, *, start: float | None = START_S, speed: float = 1.0) -> list[dict]:  # type: ignore[type-arg]
    """Return the entries of a take as JSON tells them."""
    wish = CheckWish(NAME, speed=speed, timing="recording", kind="wind", start=start)
    found: list[dict] = document(check(path, wish))["entries"]  # type: ignore[type-arg]
    return found


def as_times(times_s: tuple[float, ...], path: Path) -> Path:
    """Write a take as seconds, one a line."""
    path.write_text("\n".join(f"{time_s:.6f}" for time_s in times_s), encoding="utf-8")
    return path


def test_the_recorded_piano_breathes_and_its_map_fits_it() -> None:
    """A steady one would prove nothing of following; every beat but the last is inside the sound."""
    beats = load_beat_map(drills_folder() / "sluice-gate-piano.beats").beats
    gaps = np.array([late.time_s - early.time_s for early, late in pairwise(beats)])
    assert gaps[:24].max() >= 1.1 * gaps[:24].min()
    found = accompaniment_for(NAME, find_passage(NAME))
    length_s = soundfile.info(str(found.recording.path)).duration
    assert beats[-1].time_s < length_s <= 40


def test_the_piano_is_struck_where_the_map_says() -> None:
    """The bass sounds on each beat: the onsets heard in the recording lie at the mapped seconds."""
    beats = load_beat_map(drills_folder() / "sluice-gate-piano.beats").beats[:-2]
    heard = np.array(hear_take(drills_folder() / "sluice-gate-piano.ogg", kind="claps").times_s)
    gaps = np.array([np.min(np.abs(heard - beat.time_s)) for beat in beats])
    assert np.median(gaps) <= 0.010
    assert np.mean(gaps <= 0.030) >= 0.9


@pytest.mark.parametrize("start", [None, START_S])
def test_the_entry_is_one_beat_early_beside_the_pianist(start: float | None) -> None:
    """Whether or not it is known where the recording began in the take."""
    _, second = entries(TAKE, start=start)
    assert (second["bar"], second["count"]) == LATE_ENTRY
    assert second["verdict"] == "one beat early"
    assert second["offset_beats"] == pytest.approx(-1.0, abs=0.08)


def test_the_other_entry_is_in_time() -> None:
    """Only one is out; the honest one is not scolded."""
    assert entries(TAKE)[0]["verdict"] == "in time"


@pytest.mark.parametrize("later_s", [-0.040, 0.025, 0.060])
def test_a_take_shifted_by_so_much_has_its_entries_shifted_by_so_much(
    tmp_path: Path, later_s: float
) -> None:
    """To the sample of the sound, whichever way."""
    sound, rate = soundfile.read(str(TAKE))
    moved = round(later_s * rate)
    sound = np.concatenate((np.zeros(max(moved, 0)), sound[max(-moved, 0) :]))
    soundfile.write(str(tmp_path / "moved.wav"), sound, rate, subtype="PCM_16")
    for before, after in zip(entries(TAKE), entries(tmp_path / "moved.wav"), strict=True):
        shift_ms = after["offset_ms"] - before["offset_ms"]
        assert shift_ms == pytest.approx(1000 * moved / rate, abs=0.5)


def test_at_half_speed_the_entries_are_the_same_in_beats(tmp_path: Path) -> None:
    """The same playing to the same recording, slowed to half."""
    times_s = hear_take(TAKE, kind="wind").times_s
    whole = as_times(times_s, tmp_path / "whole.txt")
    half = as_times(tuple(2 * time_s for time_s in times_s), tmp_path / "half.txt")
    pairs = zip(entries(whole), entries(half, start=2 * START_S, speed=0.5), strict=True)
    for full, slow in pairs:
        assert slow["verdict"] == full["verdict"]
        assert slow["offset_beats"] == pytest.approx(full["offset_beats"], abs=1e-4)
