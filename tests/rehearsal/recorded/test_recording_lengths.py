"""A recording that was cut after it was mapped is noticed before anybody plays with it."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.recorded.accompaniment import RecordingFiles, accompaniment_for
from rhythmtrain.rehearsal.recorded.marks import MapWish

RATE = 8000
DRILL = """
title = "Mill Wheel"
metre = "4/4"
tempo = 100
rhythm = "1 2 3 4 | 1 & 2 3 4 | (1) 2 3 4 | 1"
"""
MARKS = ("1=1.0", "3=5.8")


def strokes(folder: Path, name: str, *, first_s: float, seconds: float) -> Path:
    """Write a recording of four bars of struck beats, the first at ``first_s``."""
    sound = np.zeros(round(seconds * RATE))
    for beat in range(16):
        start = round((first_s + 0.6 * beat) * RATE)
        n = np.arange(RATE // 4)
        sound[start : start + n.size] += 0.4 * np.exp(-n / 500) * np.sin(0.3 * n)
    soundfile.write(folder / name, sound, RATE)
    return folder / name


@pytest.fixture
def mapped(tmp_path: Path) -> Path:
    """Return the map of a recording of fourteen seconds, both beside a drill."""
    (tmp_path / "mill.toml").write_text(DRILL, encoding="utf-8")
    recording = strokes(tmp_path, "piano.wav", first_s=1.0, seconds=14.0)
    beats = tmp_path / "piano.beats"
    map_recording(recording, MapWish(at=MARKS, bars_count=4, output=beats))
    return beats


def use(recording: Path, beats: Path) -> float:
    """Return the second of bar 1 when the passage is laid on the recording."""
    name = str(beats.with_name("mill.toml"))
    files = RecordingFiles(recording, beats)
    return accompaniment_for(name, find_passage(name), files=files).mapped.zero_s


def test_a_map_is_used_with_the_recording_it_was_made_of(mapped: Path) -> None:
    """And with the same from another program, which may be a codec's frame longer."""
    assert use(mapped.with_name("piano.wav"), mapped) == pytest.approx(1.0, abs=0.02)
    copied = strokes(mapped.parent, "copied.wav", first_s=1.0, seconds=14.08)
    assert use(copied, mapped) == pytest.approx(1.0, abs=0.02)


def test_a_recording_cut_since_is_refused(mapped: Path) -> None:
    """Every beat would be called late by what was put before it."""
    longer = strokes(mapped.parent, "longer.wav", first_s=4.0, seconds=17.0)
    words = r"piano\.beats was made of a recording of 14\.0 s, but longer\.wav lasts 17\.0 s"
    with pytest.raises(TakeError, match=words):
        use(longer, mapped)


def test_a_map_that_says_nothing_of_its_recording_is_believed(mapped: Path) -> None:
    """Maps come from other programs too; what is said wrongly there stops nobody."""
    longer = strokes(mapped.parent, "longer.wav", first_s=1.0, seconds=17.0)
    lines = mapped.read_text(encoding="utf-8").splitlines()
    for says in ((), ("# kept: lasts long",)):
        others = [line for line in lines if "lasts" not in line]
        mapped.write_text("\n".join([*says, *others]), encoding="utf-8")
        assert use(longer, mapped) == pytest.approx(1.0, abs=0.02)


def test_a_map_is_not_replaced_by_that_of_another_recording(mapped: Path) -> None:
    """It cost somebody an evening; with a name of its own the new one may be made."""
    other = strokes(mapped.parent, "other.wav", first_s=1.0, seconds=20.0)
    before = mapped.read_bytes()
    with pytest.raises(RequestError, match="say with -o where the new map goes"):
        map_recording(other, MapWish(again=mapped, at=("2=3.4",)))
    assert mapped.read_bytes() == before
    own = mapped.with_name("other.beats")
    map_recording(other, MapWish(again=mapped, at=("2=3.4",), output=own))
    assert use(other, own) == pytest.approx(1.0, abs=0.02)


def test_a_map_made_again_of_its_own_recording_goes_where_it_was(mapped: Path) -> None:
    """One more mark, nothing else to type."""
    told = map_recording(mapped.with_name("piano.wav"), MapWish(again=mapped, at=("2=3.4",)))
    assert told.files == (mapped,)
