"""A recogniser that knows nothing of the passage writes down what a rendered track counts."""

from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from rhythmtrain.storage.recordings import open_recording, whole_sound
from rhythmtrain.storage.word_sound import resampled
from tests.simulate.recogniser import RATE, understood

DITHER_DB = -50.0
# Six counts, then the bars of a rest: "1 2 3 4 5 6, 1 2 …, 2 2 …".
DRILL = """title = "Counted aloud"
metre = "6/4"
tempo = {tempo}
rhythm = "1 2 3 4 5 6 | rest 2"
"""
SAID = "one two three four five six one two three four five six two two three four five six"


@pytest.mark.parametrize("tempo", [60, 90, 120])
def test_the_count_of_a_rendered_track_isunderstood(tmp_path: Path, tempo: int) -> None:
    """The bar's number takes the place of its "one" in a rest, and is heard as such."""
    drill, track = tmp_path / "counted.toml", tmp_path / "counted.flac"
    drill.write_text(DRILL.format(tempo=tempo), encoding="utf-8")
    make_track(TrackWish(str(drill), layers="count", count_in=0), track)
    recording = open_recording(track)
    sound = resampled(whole_sound(recording).astype(float), recording.rate, RATE)
    noise = np.random.default_rng(tempo).standard_normal(len(sound) + RATE)
    heard = noise * 10 ** (DITHER_DB / 20)
    heard[RATE // 2 : RATE // 2 + len(sound)] += sound * (0.5 / np.abs(sound).max())
    assert understood(heard, len(SAID.split())) == SAID.split()
