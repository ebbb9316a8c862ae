"""A recogniser that knows nothing of the passage writes down what a rendered track counts."""

from pathlib import Path

import numpy as np
import pocketsphinx
import pytest

from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from rhythmtrain.storage.recordings import open_recording, whole_sound
from rhythmtrain.storage.word_sound import resampled

DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight")
RATE = 16_000
DITHER_DB = -50.0
# Six counts, then the bars of a rest: "1 2 3 4 5 6, 1 2 …, 2 2 …".
DRILL = """title = "Counted aloud"
metre = "6/4"
tempo = {tempo}
rhythm = "1 2 3 4 5 6 | rest 2"
"""
SAID = "one two three four five six one two three four five six two two three four five six"


def _understood(sound: np.ndarray, count: int) -> list[str]:
    """Return the digits heard, of a grammar that allows any digit anywhere."""
    decoder = pocketsphinx.Decoder(samprate=RATE, lm=None, loglevel="FATAL")
    words = " ".join(["<d>"] * count)
    grammar = f"#JSGF V1.0; grammar g; <d> = {'|'.join(DIGITS)}; public <s> = {words};"
    decoder.add_jsgf_string("digits", grammar)
    decoder.activate_search("digits")
    pcm = (np.clip(sound, -1, 1) * 32_767).astype("<i2").tobytes()
    for _ in range(2):
        decoder.start_utt()
        decoder.process_raw(pcm, full_utt=True)
        decoder.end_utt()
    heard = decoder.hyp()
    return [] if heard is None else str(heard.hypstr).split()


@pytest.mark.parametrize("tempo", [60, 90, 120])
def test_the_count_of_a_rendered_track_is_understood(tmp_path: Path, tempo: int) -> None:
    """The bar's number takes the place of its "one" in a rest, and is heard as such."""
    drill, track = tmp_path / "counted.toml", tmp_path / "counted.flac"
    drill.write_text(DRILL.format(tempo=tempo), encoding="utf-8")
    make_track(TrackWish(str(drill), layers="count", count_in=0), track)
    recording = open_recording(track)
    sound = resampled(whole_sound(recording).astype(float), recording.rate, RATE)
    noise = np.random.default_rng(tempo).standard_normal(len(sound) + RATE)
    heard = noise * 10 ** (DITHER_DB / 20)
    heard[RATE // 2 : RATE // 2 + len(sound)] += sound * (0.5 / np.abs(sound).max())
    assert _understood(heard, len(SAID.split())) == SAID.split()
