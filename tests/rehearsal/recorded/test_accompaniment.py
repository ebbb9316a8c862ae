"""The recording beside a passage: found from drill or options, and every way it can be wrong."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import FileError, RequestError, TakeError
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.recorded.accompaniment import (
    RecordingFiles,
    accompaniment_for,
    has_model,
    model_for,
)
from rhythmtrain.storage.beat_maps import load_beat_map

DRILL = """
title = "Mill Wheel"
metre = "2/4"
tempo = 60
rhythm = "1 2 | 1 & 2 | (1) 2"
{more}
"""
BEATS = "".join(f"{1 + n}.0\t{1 + n // 2}.{1 + n % 2}\n" for n in range(6))


def cupboard(folder: Path, more: str, *, beats: str = BEATS, seconds: float = 8.0) -> str:
    """Write a drill with a recording and its map beside it, and return the drill's name."""
    soundfile.write(folder / "piano.wav", np.zeros(int(seconds * 8000), np.float32), 8000)
    (folder / "piano.beats").write_text(beats, encoding="utf-8")
    drill = folder / "mill.toml"
    drill.write_text(DRILL.format(more=more), encoding="utf-8")
    return str(drill)


NAMED = '[accompaniment]\nrecording = "piano.wav"\nbeats = "piano.beats"\nmeet = [1, 3]'


def test_the_drill_names_its_accompaniment(tmp_path: Path) -> None:
    """A teacher writes it down once."""
    name = cupboard(tmp_path, NAMED)
    found = accompaniment_for(name, find_passage(name))
    assert found.recording.path == (tmp_path / "piano.wav").resolve()
    assert found.mapped.second(Fraction(2)) == 3.0
    assert found.meet == (1, 3)


def test_files_given_come_before_the_drill_s(tmp_path: Path) -> None:
    """Another pianist's recording of the same piece, or a better map."""
    name = cupboard(tmp_path, NAMED)
    later = tmp_path / "later.beats"
    later.write_text(BEATS.replace(".0\t", ".5\t"), encoding="utf-8")
    by_map = accompaniment_for(name, find_passage(name), files=RecordingFiles(beats=later))
    assert by_map.mapped.second(Fraction(0)) == 1.5
    both = RecordingFiles(tmp_path / "piano.wav", later)
    assert accompaniment_for(name, find_passage(name), files=both).mapped.zero_s == 1.5


def test_the_teacher_s_playing_is_found_alike(tmp_path: Path) -> None:
    """A slow recording of the tune, mapped as the accompaniment is."""
    name = cupboard(tmp_path, '[model]\nrecording = "piano.wav"\nbeats = "piano.beats"')
    assert has_model(name)
    assert model_for(name, find_passage(name)).mapped.second(Fraction(4)) == 5.0


@pytest.mark.parametrize(
    ("more", "kind", "words"),
    [
        ("", RequestError, "has no recorded accompaniment: .give-recording"),
        ('[accompaniment]\nrecording = "piano.wav"', RequestError,
         "map-bars-of.piano.wav.1-3"),
        ('[accompaniment]\nrecording = "gone.wav"', FileError, "there is no such file beside it"),
        ('[accompaniment]\nrecording = "mill.toml"\nbeats = "piano.beats"', FileError,
         "not a recording"),
        ('[accompaniment]\nrecording = "piano.wav"\nbeats = "piano.wav"', (FileError, TakeError),
         "piano.wav"),
        ('[accompaniment]\nnotes = "piano.beats"', RequestError, "no recorded accompaniment"),
    ],
)  # fmt: skip
def test_what_is_wrong_beside_a_drill_is_said_in_one_sentence(
    tmp_path: Path, more: str, kind: type[Exception], words: str
) -> None:
    """With what to type next."""
    name = cupboard(tmp_path, more)
    with pytest.raises(kind, match=words):
        accompaniment_for(name, find_passage(name))


@pytest.mark.parametrize(
    ("beats", "kind", "words"),
    [
        (BEATS.replace("3.0\t2.1\n", ""), TakeError, "piano.beats: the beat map jumps"),
        (BEATS.replace("6.0", "9.0"), TakeError, "lasts 8.0 s, but piano.beats has beat 3.2 at 9.0"),
        ("1\t1.1\n2\t1.2\n3\t2.1\n", RequestError, "piano.beats: the beat map covers 1.1 to 2.1"),
        ("".join(f"{1 + n}.0\t{1 + n // 3}.{1 + n % 3}\n" for n in range(6)), RequestError,
         "has other beats than the passage"),
    ],
)  # fmt: skip
def test_a_map_of_something_else_is_said_in_one_sentence(
    tmp_path: Path, beats: str, kind: type[Exception], words: str
) -> None:
    """Before minutes of sound are made with it."""
    name = cupboard(tmp_path, NAMED, beats=beats)
    with pytest.raises(kind, match=words):
        accompaniment_for(name, find_passage(name))


def test_no_model_is_said(tmp_path: Path) -> None:
    """Where the tune was asked for from a recording."""
    name = cupboard(tmp_path, NAMED)
    assert not has_model(name)
    with pytest.raises(RequestError, match="under \\[model\\]"):
        model_for(name, find_passage(name))


def test_an_empty_beat_map_is_told_how_one_looks(tmp_path: Path) -> None:
    """Nothing was recorded in it, because it is no recording."""
    path = tmp_path / "empty.beats"
    path.write_text("", encoding="utf-8")
    with pytest.raises(FileError, match="is empty: a beat map has a line for every beat"):
        load_beat_map(path)
