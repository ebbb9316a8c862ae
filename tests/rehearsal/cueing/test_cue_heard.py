"""The cue of a recording that nobody has written down."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue
from tests.simulate.pianos import RATE, hiss, mixed

DRILL = """
title = "Mill Stream"
metre = "2/4"
tempo = 60
rhythm = "1 2 | rest 2 | (1) 2 | 1 2"
[accompaniment]
recording = "piano.wav"
beats = "piano.beats"
"""
# Beats of bars 1 to 5, in seconds, by an accompanist who breathes.
BEATS = (0.8, 1.5, 2.1, 2.7, 3.4, 4.2, 5.0, 5.7, 6.3, 7.0)
# What is played, in beats from bar 1 on.
PLAYED = (0, 1, 2, 2.5, 3, 4, 4.5, 4.75, 5, 5.5, 6, 7, 8, 9)


@pytest.fixture
def mill(tmp_path: Path) -> Path:
    """Return a drill with a recorded piano: an entry on beat 2 of bar 4."""
    onsets = np.interp(PLAYED, range(len(BEATS)), BEATS)
    hands = [np.array([40.0 + 7 * (i % 3), 62.0 + 5 * (i % 4)]) for i in range(len(PLAYED))]
    rng = np.random.default_rng(5)
    notes = (
        np.repeat(onsets, 2),
        np.concatenate(hands),
        np.full(2 * len(PLAYED), 0.6),
        np.full(2 * len(PLAYED), 0.2),
    )
    sound = mixed(notes, length_s=9.0, which=0, room=rng)
    soundfile.write(tmp_path / "piano.wav", sound + hiss(rng, sound.size, -55), RATE)
    write_map(tmp_path)
    path = tmp_path / "mill.toml"
    path.write_text(DRILL, encoding="utf-8")
    return path


def write_map(folder: Path, unsure: str = "") -> None:
    """Write the beat map, with a standard error for every beat where one is given."""
    lines = [f"{second}\t{1 + i // 2}.{1 + i % 2}{unsure}" for i, second in enumerate(BEATS)]
    (folder / "piano.beats").write_text("\n".join(lines), encoding="utf-8")


def test_what_is_played_before_the_entry_is_heard(mill: Path) -> None:
    """A recording and its map are enough to know what to wait for."""
    told = tell_cue(CueWish(str(mill)))
    counts = [(each["bar"], each["count"]) for each in told.document["notes"]]
    assert counts == [
        (2, "1"),
        (2, "1&"),
        (2, "2"),
        (3, "1"),
        (3, "1&"),
        (3, "1a"),
        (3, "2"),
        (3, "2&"),
        (4, "1"),
    ]
    assert told.document["from"] == "recording"
    assert {each["pitch"] for each in told.document["notes"]} == {None}
    assert "both hands together, as heard in the recording" in told.text
    assert "heard and not read" in told.warnings[0]


def test_channels_that_are_each_other_upside_down_tell_the_same(mill: Path) -> None:
    """Who recorded a balanced line in stereo is not told that the piano is silent."""
    before = tell_cue(CueWish(str(mill))).document["notes"]
    sound, rate = soundfile.read(mill.with_name("piano.wav"))
    soundfile.write(mill.with_name("piano.wav"), np.stack((sound, -sound), axis=1), rate)
    assert tell_cue(CueWish(str(mill))).document["notes"] == before


def test_an_unsure_map_tells_only_halves_of_beats(mill: Path) -> None:
    """What cannot be told apart is not told."""
    write_map(mill.parent, "\t0.080")
    told = tell_cue(CueWish(str(mill)))
    assert "1a" not in {each["count"] for each in told.document["notes"]}
    assert "nothing finer than a half" in told.warnings[0]


def test_bars_that_nobody_mapped_are_asked_for(mill: Path) -> None:
    """A cue that cannot be heard is no silence."""
    path = mill.parent / "piano.beats"
    lines = path.read_text(encoding="utf-8").splitlines()
    path.write_text("\n".join(lines[6:]), encoding="utf-8")
    late = mill.read_text(encoding="utf-8").replace("(1) 2 | 1 2", "1 2 | 1 2")
    mill.write_text(late, encoding="utf-8")
    with pytest.raises(RequestError, match=r"piano.wav begins after the bars before bar 4"):
        tell_cue(CueWish(str(mill)))


def test_a_recording_that_is_silent_there_is_named(mill: Path) -> None:
    """The wrong file, or a map of another: nobody's microphone is to blame."""
    soundfile.write(mill.parent / "piano.wav", np.zeros(9 * RATE), RATE)
    with pytest.raises(TakeError, match=r"piano.wav is silent from .* s, where the cue would be"):
        tell_cue(CueWish(str(mill)))


def test_without_a_map_all_the_bars_are_asked_for(mill: Path) -> None:
    """The bar of an entry alone could not be tapped along with."""
    text = mill.read_text(encoding="utf-8").replace('beats = "piano.beats"', "")
    mill.write_text(text, encoding="utf-8")
    with pytest.raises(RequestError, match=r"map-bars-of.piano.wav.1-5"):
        tell_cue(CueWish(str(mill)))
