"""A track as the page played it: each layer as loud as it was set, also while it sounded."""

from typing import Any

import numpy as np

from rhythmtrain.devices.ports import Block
from rhythmtrain.rehearsal.desk.made_track import Made
from rhythmtrain.rehearsal.tracks.sound import RATE
from rhythmtrain.storage.recorded_sound import sound_between
from rhythmtrain.storage.recordings import open_recording


def as_heard(
    made: Made, levels: list[tuple[Any, ...]], start_s: float, *, frames: int = 0
) -> Block:
    """Return the track in one channel as the page played it, each layer as loud as it was set.

    ``levels`` are (context second, layer, gain) in order; a layer of which nothing is said sounds
    as it was made.  Where the track comes round, ``frames`` of it are returned.
    """
    mixed: Block = np.zeros(0, np.float32)
    for layer, path in made.stems.items():
        recording = open_recording(path)
        stem = np.concatenate(
            [each.mean(axis=1) for each in sound_between(recording, 0.0, 1e9, rate=RATE)]
        )
        if made.loop is not None:
            stem = made.loop.unrolled(stem, frames)
        gain = np.ones(len(stem), np.float32)
        for at_s, name, loud in levels:
            if name == layer:
                gain[max(0, round((at_s - start_s) * RATE)) :] = loud
        stem = stem * gain
        if len(mixed) < len(stem):
            mixed = np.pad(mixed, (0, len(stem) - len(mixed)))
        mixed[: len(stem)] += stem
    return mixed.astype(np.float32)
