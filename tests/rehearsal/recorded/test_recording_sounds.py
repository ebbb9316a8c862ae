"""A recording that was replaced by another of the same length is noticed, and the same one never."""

import shutil
from pathlib import Path

import numpy as np
import pytest
import soundfile
from scipy.signal import resample_poly

from rhythmtrain.rehearsal.checking.check import CheckWish, check_file
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.drawing import passage_shown
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.entering.recorded import layers_of
from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.rehearsal.recorded.sounding import sound_doubts
from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from tests.simulate.performances import perform
from tests.simulate.sound_files import Kind, written

RATE = 22_050
DRILL = """
title = "Mill Wheel"
metre = "4/4"
tempo = 100
rhythm = "1 2 3 4 | 1 & 2 3 4 | (1) 2 3 4 | 1"
[accompaniment]
recording = "{recording}"
beats = "piano.beats"
"""
KINDS = [
    Kind(".m4a", "aac", 44_100),
    Kind(".opus", "libopus", 48_000),
    Kind(".mp3", "libmp3lame", 22_050, "mono"),
]


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a drill, its recording, its map, and another recording as long."""
    folder = tmp_path_factory.mktemp("made")
    one, other = (perform(seed, expressive=True, bars=10).sound for seed in (9311, 9312))
    size = min(one.size, other.size)
    soundfile.write(folder / "piano.wav", one[:size], RATE)
    soundfile.write(folder / "other.wav", other[:size], RATE)
    wish = MapWish(at=("1=1.0", "4=7.0"), bars_count=4, output=folder / "piano.beats")
    map_recording(folder / "piano.wav", wish)
    return folder


@pytest.fixture
def room(made: Path, tmp_path: Path) -> Path:
    """Return a copy of the folder, which a test may change."""
    shutil.copytree(made, tmp_path, dirs_exist_ok=True)
    return tmp_path


def doubts(room: Path, recording: str) -> tuple[str, ...]:
    """Return what is said of the drill when ``recording`` is what it names."""
    (room / "mill.toml").write_text(DRILL.format(recording=recording), encoding="utf-8")
    return sound_doubts(str(room / "mill.toml"))


def test_another_recording_of_the_same_length_is_said_to_be_one(room: Path) -> None:
    """Wherever it would be played to: it is a doubt, and nobody is kept from going on."""
    (room / "other.wav").replace(room / "piano.wav")
    (said,) = doubts(room, "piano.wav")
    assert "piano.beats was made of a recording that sounds otherwise than piano.wav" in said
    drill = str(room / "mill.toml")
    layers = "accompaniment,click"
    told = make_track(TrackWish(drill, layers=layers, bars="1-2"), room / "track.wav")
    assert said in told.warnings
    (room / "take.txt").write_text("".join(f"{1 + 0.6 * k:.3f}\n" for k in range(12)))
    heard = check_file(room / "take.txt", CheckWish(drill, timing="recording"))
    assert said in heard.document["remarks"]
    assert "sounds otherwise" in " ".join(heard.text.split())


def test_it_is_said_wherever_one_plays_to_it(room: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Before an entry, after clapping along, and at the page when the passage is opened."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(room / "home"))
    (room / "other.wav").replace(room / "piano.wav")
    (said,) = doubts(room, "piano.wav")
    drill = str(room / "mill.toml")
    before: list[str] = []
    layers_of(drill, None, NO_FILES, say=before.append)
    assert said in before
    told = clap_along(ClapWish(drill, layers="accompaniment,click", bars="1-2", dry_run=True))
    assert said in told.warnings
    with Sitting() as sitting:
        for name in ("mill.toml", "piano.wav", "piano.beats"):
            shutil.copy(room / name, sitting.folders.passages)
        assert said in passage_shown(sitting, Asked({"passage": "own:mill.toml"}))["said"]


def test_the_same_recording_under_another_name_and_with_other_tags_fits(room: Path) -> None:
    """Nobody is made uneasy for nothing."""
    assert doubts(room, "piano.wav") == ()
    sound, rate = soundfile.read(room / "piano.wav")
    with soundfile.SoundFile(room / "named.flac", "w", rate, 1) as file:
        file.title, file.comment = "Mill Wheel, for Tuesday", "played slowly"
        file.write(sound)
    assert doubts(room, "named.flac") == ()


@pytest.mark.parametrize("kind", KINDS, ids=str)
def test_the_same_recording_re_encoded_fits(room: Path, kind: Kind) -> None:
    """A teacher sends it on as it came from the phone; somebody made it softer."""
    sound, rate = soundfile.read(room / "piano.wav", dtype="float32")
    there = resample_poly(sound, kind.rate, rate) if kind.rate != rate else sound
    channels = np.repeat(there[:, None], 1 if kind.layout == "mono" else 2, axis=1)
    file = written(room, kind, (0.5 * channels).astype(np.float32))
    assert doubts(room, file.name) == ()


def test_a_map_that_keeps_no_sound_is_believed_in_silence(room: Path) -> None:
    """Maps from before, and from other programs, say nothing of it; nor does half a line."""
    beats = room / "piano.beats"
    lines = beats.read_text("utf-8").splitlines()
    others = [line for line in lines if not line.startswith("# kept: sounds")]
    assert len(others) == len(lines) - 1
    for kept in ((), ("# kept: sounds",), ("# kept: sounds +-x",)):
        beats.write_text("\n".join([*kept, *others]), "utf-8")
        assert doubts(room, "other.wav") == ()


def test_who_maps_another_recording_again_is_told_so_once(room: Path) -> None:
    """The taps were made to the older one; the new map is then of the new one."""
    (room / "other.wav").replace(room / "piano.wav")
    for words in (1, 0):
        told = map_recording(room / "piano.wav", MapWish(again=room / "piano.beats", at=("2=3.4",)))
        assert " ".join(told.text.split()).count("sounds otherwise than") == words
