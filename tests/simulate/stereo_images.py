"""Stereo recordings of invented pieces whose image is known: narrow, wide, apart, opposed, delayed."""

from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.elastic import Elastic
from rhythmtrain.render.image import table_of
from tests.simulate.pianos import RATE
from tests.simulate.slow_sounds import piano

Sound = NDArray[np.float32]
Floats = NDArray[np.float64]
BETWEEN_S = 0.0006


def _later(sound: Sound) -> Sound:
    """Return ``sound`` as a microphone hears it that is 20 cm farther away."""
    samples = round(BETWEEN_S * RATE)
    return np.concatenate((np.zeros(samples, np.float32), sound[:-samples]))


# From two pieces to what is left and right.
IMAGES: Mapping[str, Callable[[Sound, Sound], tuple[Sound, Sound]]] = {
    "narrow": lambda one, other: (one, 0.9 * one + 0.05 * other),
    "wide": lambda one, other: (one + 0.3 * other, 0.3 * one + other),
    "apart": lambda one, other: (one, other),
    "opposed": lambda one, other: (one, -0.8 * one + 0.2 * other),
    "two microphones": lambda one, _: (one, 0.7 * _later(one)),
}


def stereo(kind: str, seed: int, bars: int = 5) -> Sound:
    """Return a piano piece of ``seed`` in the image ``kind``, shape (n, 2)."""
    one, other = (piano(each, bars=bars).make(1.0) for each in (seed, seed + 10))
    length = min(one.size, other.size)
    sides = IMAGES[kind](one[:length], other[:length])
    return np.stack(sides, axis=1).astype(np.float32)


def likeness(sound: Sound) -> float:
    """Return the correlation of both channels."""
    return float(np.corrcoef(sound.T).flat[1])


def wanted_likeness(sound: Sound, by: Elastic) -> float:
    """Return the correlation of both channels where every moment lasts as long as ``by`` makes it.

    Strokes keep their own speed and what follows does not: where the two are not alike, the whole
    is as the slowed moments are, not as the recording was.
    """
    recorded, track = np.array(by.recorded_s), np.array(by.track_s)
    slopes: Floats = np.diff(track) / np.diff(recorded)
    places = np.searchsorted(recorded, np.arange(len(sound)) / RATE, side="right") - 1
    lasts = slopes[np.clip(places, 0, slopes.size - 1)][:, None]
    moments = sound.astype(np.float64) * np.sqrt(lasts)
    left, both, right = table_of(*moments.T).tolist()
    return float(both / np.sqrt(left * right))
