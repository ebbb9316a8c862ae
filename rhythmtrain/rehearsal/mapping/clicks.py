"""A recording with clicks on its mapped beats, to be checked by ear."""

from collections.abc import Iterable, Iterator
from functools import partial
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.mixer import MONO, Placed, render_blocks
from rhythmtrain.render.voices import BEAT, DOWNBEAT, struck
from rhythmtrain.storage.audio_files import write_audio
from rhythmtrain.storage.recordings import Recording
from rhythmtrain.timing.beatmap import BeatMap
from rhythmtrain.units import samples_at

# Shares of full scale: together they stay below it, so nothing has to be pressed.
RECORDING_PEAK, CLICK_PEAK = 0.55, 0.3
BLOCK = 65_536

Block = NDArray[np.float32]


def write_with_clicks(recording: Recording, beat_map: BeatMap, path: Path, *, peak: float) -> None:
    """Write ``recording``, whose largest sample is ``peak``, with a click on every mapped beat.

    A click's first sample is its beat; the first beat of a bar sounds higher.

    Raises:
        RequestError: an ending that is no kind of sound file.
        FileError: the file cannot be written.
    """
    write_audio(
        path,
        _mixed(recording, beat_map, RECORDING_PEAK / peak),
        recording.rate,
        title=f"{recording.path.stem} with clicks",
        comment="clicks on the mapped beats",
    )


def _mixed(recording: Recording, beat_map: BeatMap, gain: float) -> Iterator[Block]:
    rate = recording.rate
    voices = {True: struck(DOWNBEAT, rate), False: struck(BEAT, rate)}
    placed = [
        Placed(
            samples_at(beat.time_s, rate),
            len(voices[beat.beat == 1]),
            partial(voices.__getitem__, beat.beat == 1),
            CLICK_PEAK,
        )
        for beat in beat_map.beats
    ]
    longest = samples_at(beat_map.beats[-1].time_s, rate) + max(map(len, voices.values()))
    blocks = _even(recording.blocks())
    clicks = render_blocks(placed, longest + BLOCK, channels=MONO, block=BLOCK)
    for block in blocks:
        click = next(clicks, np.zeros((len(block), MONO), np.float32))[: len(block)]
        sound = block[:, None] * np.float32(gain)
        sound[: len(click)] += click
        yield sound


def _even(blocks: Iterable[Block]) -> Iterator[Block]:
    """Yield ``blocks`` cut anew, each of ``BLOCK`` samples but the last."""
    kept = np.zeros(0, np.float32)
    for block in blocks:
        kept = np.concatenate((kept, block))
        while kept.size >= BLOCK:
            yield kept[:BLOCK]
            kept = kept[BLOCK:]
    if kept.size:
        yield kept
