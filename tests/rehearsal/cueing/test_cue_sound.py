"""The sound of a cue: the bars before the entry looped, with the entry clapped in its place."""

from pathlib import Path

import mido
import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue

RATE = 44_100
DRILL = """
title = "Mill Stream"
metre = "2/4"
tempo = 60
rhythm = "1 2 | rest 1 | (1) 2 | 1 2"
cue = "rest 1 | 1 & (2) | rest 2"
{more}
"""
BESIDE = '[accompaniment]\nrecording = "piano.wav"\nbeats = "piano.beats"'
TIMES = (0.5, 1.1, 1.65, 2.15, 2.75, 3.4, 4.0, 4.5, 5.1)
# In bar 3 nothing is played on beat 2, where the player comes in.
ENTRY = 5


def drill(folder: Path, more: str = "") -> str:
    """Return the path of a drill with its entry on beat 2 of bar 3."""
    path = folder / "mill.toml"
    path.write_text(DRILL.format(more=more), encoding="utf-8")
    return str(path)


def record(folder: Path) -> None:
    """Write a recording of a breathing accompanist and its beat map beside the drill."""
    sound = np.zeros(int(7 * RATE))
    n = np.arange(RATE // 3)
    for number, second in enumerate(TIMES):
        if number != ENTRY:
            start = round(second * RATE)
            sound[start : start + len(n)] += (
                0.3 * np.exp(-n / (0.06 * RATE)) * np.sin(2 * np.pi * 330 * n / RATE)
            )
    soundfile.write(folder / "piano.wav", sound, RATE)
    lines = [f"{second}\t{1 + i // 2}.{1 + i % 2}" for i, second in enumerate(TIMES)]
    (folder / "piano.beats").write_text("\n".join(lines), encoding="utf-8")


def rises(sound: np.ndarray, second: float) -> float:
    """Return how late the sound around ``second`` begins to rise, in seconds."""
    first = round((second - 0.04) * RATE)
    near = np.abs(sound[first : first + round(0.08 * RATE)])
    return (first + int(np.argmax(near > 0.2 * near.max()))) / RATE - second


@pytest.mark.parametrize("speed", [0.5, 1.0])
def test_the_entry_is_clapped_where_the_accompanist_leaves_it(tmp_path: Path, speed: float) -> None:
    """Each time round, at any speed, at the beat of the recording and of no metronome."""
    record(tmp_path)
    out = tmp_path / "cue.wav"
    path = drill(tmp_path, BESIDE)
    told = tell_cue(CueWish(path, output=out, speed=speed, bars_before=1, repeats=2))
    sound = soundfile.read(out)[0].mean(axis=1)
    begin, entry, after = TIMES[2], TIMES[ENTRY], TIMES[6]
    first = (entry - begin) / speed
    again = first + (after - begin) / speed
    assert abs(rises(sound, first)) < 0.003
    assert abs(rises(sound, again)) < 0.003
    assert told.files == (out,)
    assert told.document["path"] == str(out)
    assert "twice these bars, the entry clapped" in told.text


def test_the_notes_of_the_cue_are_ticked(tmp_path: Path) -> None:
    """An eighth between two beats lies halfway between them, where nothing else sounds."""
    record(tmp_path)
    out = tmp_path / "cue.wav"
    tell_cue(CueWish(drill(tmp_path, BESIDE), output=out, bars_before=1))
    sound = soundfile.read(out)[0].mean(axis=1)
    between = (TIMES[3] - TIMES[2]) / 2
    assert abs(rises(sound, between)) < 0.003


def test_without_a_recording_the_cue_sounds_itself(tmp_path: Path) -> None:
    """A drill alone is enough, at half speed too."""
    out = tmp_path / "cue.mid"
    tell_cue(CueWish(drill(tmp_path), output=out, speed=0.5, bars_before=1, repeats=1))
    found, at = {}, 0.0
    for message in mido.MidiFile(out):
        at += message.time
        if message.type == "note_on" and message.velocity:
            found[round(at, 2)] = message
    assert sorted(found) == [0.0, 1.0, 6.0]


@pytest.mark.parametrize(
    ("out", "more", "match"),
    [
        ("cue.mid", BESIDE, "cue.mid cannot hold the recording"),
        ("cue.wav", '[accompaniment]\nrecording = "piano.wav"', "nobody has said where the bars"),
        ("cue.txt", "", r"\.wav"),
    ],
)
def test_what_cannot_be_written_is_one_sentence(
    tmp_path: Path, out: str, more: str, match: str
) -> None:
    """Each says what to write or to give instead."""
    record(tmp_path)
    with pytest.raises(RequestError, match=match):
        tell_cue(CueWish(drill(tmp_path, more), output=tmp_path / out))
    assert not (tmp_path / out).exists()
