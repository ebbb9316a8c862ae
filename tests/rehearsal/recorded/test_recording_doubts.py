"""A recording that is cut off or half silent is used, and what is amiss is said."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from rhythmtrain.storage.places import drills_folder


def spoilt(folder: Path, *, gain: float = 1.0, dead: int | None = None) -> Path:
    """Write the supplied recording, made too loud or with a channel dead; its map beside it."""
    sound, rate = soundfile.read(drills_folder() / "sluice-gate-piano.ogg", always_2d=True)
    sound = np.clip(gain * np.column_stack([sound[:, 0], sound[:, -1]]), -1, 1)
    if dead is not None:
        sound[:, dead] = 0
    path = folder / "piano.wav"
    soundfile.write(path, sound, rate, subtype="PCM_16")
    return path


def said_of(path: Path, folder: Path) -> str:
    """Return what is said when a track is made over the recording, and when it is mapped."""
    wish = TrackWish(
        "32-sluice-gate-rag", bars="5-6", layers="accompaniment,click", accompaniment=path,
        beats=drills_folder() / "sluice-gate-piano.beats",
    )  # fmt: skip
    told = make_track(wish, folder / "track.wav")
    mapped = map_recording(path, MapWish(at=("5=4.2", "7=6.9"), bars="5-7", metre="2/4"))
    return " ".join([*told.warnings, *mapped.text.split()])


def test_a_sound_recording_needs_no_word(tmp_path: Path) -> None:
    """Nobody is made uneasy for nothing."""
    said = said_of(spoilt(tmp_path), tmp_path)
    assert "cut off" not in said
    assert "silent" not in said


def test_a_recording_that_was_too_loud_is_said_to_be(tmp_path: Path) -> None:
    """It can be used; a better one is worth making."""
    said = said_of(spoilt(tmp_path, gain=8.0), tmp_path)
    assert said.count("cut off") == 2


@pytest.mark.parametrize(("dead", "side"), [(0, "left"), (1, "right")])
def test_a_recording_with_a_dead_channel_is_said_to_have_one(
    tmp_path: Path, dead: int, side: str
) -> None:
    """The other is heard in both ears, and that is said."""
    said = said_of(spoilt(tmp_path, dead=dead), tmp_path)
    assert said.count(f"{side} channel") == 2
    sound, _ = soundfile.read(tmp_path / "track.wav", always_2d=True)
    assert np.abs(sound[:, 0] - sound[:, 1]).max() < 0.01
