"""Recordings that an invented class sends: the passage clapped in a room, as WAV or from a phone."""

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import soundfile
from numpy.typing import NDArray

from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.timing.timeline import Practice, lay_out

RATE = 44_100
Sound = NDArray[np.float32]


def clapped(passage: str, seed: int, *, speed: float, repeats: int) -> Sound:
    """Return a student's claps of ``passage``: each a burst of noise, some notes missing."""
    rng = np.random.default_rng(seed)
    timeline = lay_out(find_passage(passage), Practice(speed=speed, repeats=repeats))
    sound = 0.002 * rng.standard_normal(round((timeline.seconds(timeline.stop) + 3) * RATE))
    clap = np.exp(-np.arange(2000) / 350)
    for note in timeline.notes:
        if rng.random() > 0.02 * (seed % 3):
            place = round((1.5 + timeline.seconds(note.at) + 0.015 * rng.standard_normal()) * RATE)
            sound[place : place + 2000] += 0.4 * clap * rng.standard_normal(2000)
    return np.clip(sound, -1, 1).astype(np.float32)


def write_m4a(path: Path, sound: Sound) -> None:
    """Write ``sound`` as a phone does."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream("aac", rate=RATE, layout="mono")
        for start in range(0, len(sound), 1024):
            frame = av.AudioFrame.from_ndarray(sound[None, start : start + 1024], "fltp", "mono")
            frame.rate, frame.pts, frame.time_base = RATE, start, Fraction(1, RATE)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))


def make_class(folder: Path, passage: str, students: int, *, speed: float, repeats: int) -> float:
    """Lay the recordings of ``students`` into ``folder`` and return how many seconds they last."""
    lasts = 0.0
    for seed in range(students):
        sound = clapped(passage, seed, speed=speed, repeats=repeats)
        lasts += len(sound) / RATE
        path = folder / f"Student {seed}"
        if seed % 2:
            soundfile.write(path.with_suffix(".wav"), sound, RATE)
        else:
            write_m4a(path.with_suffix(".m4a"), sound)
    return lasts
