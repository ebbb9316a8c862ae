"""What sounds: levels of the semitones, and how much their pitch classes change.

Energies are pressed by a logarithm, so that soft notes count beside loud ones, over a floor 55 dB
below the loud semitones of the recording.  Chroma are the levels summed over the octaves.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.recording.spectra import LOWEST_PITCH, PITCH_HOP_S, Energies

QUIET_DB = -55.0
CHANGE_S = 0.2
LEAST = 1e-9

Floats = NDArray[np.float64]


def pitch_levels(pitches: Energies) -> Energies:
    """Return levels of the semitones, shape (frames, 72), from 0 up."""
    loud = float(np.percentile(pitches.max(axis=1), 95)) or 1e-12
    levels: Energies = np.log1p(pitches * np.float32(1 / (loud * 10 ** (QUIET_DB / 10))))
    return levels


def folded(levels: Energies) -> Floats:
    """Return ``levels`` summed over the octaves, shape (frames, 12), C first."""
    classes = (np.arange(levels.shape[1]) + LOWEST_PITCH) % 12
    chroma: Floats = levels.astype(np.float64) @ (classes[:, None] == np.arange(12))
    return chroma


def chroma_change(pitches: Energies) -> Floats:
    """Return how much the chroma of the 0.2 s after each frame differs from those before: 0 to 1."""
    chroma = folded(pitch_levels(pitches))
    width = round(CHANGE_S / PITCH_HOP_S)
    sums = np.concatenate((np.zeros((1, 12)), np.cumsum(chroma, axis=0)))
    frames = np.arange(len(chroma))
    end, start = np.minimum(frames + width, len(chroma)), np.maximum(frames - width, 0)
    before, after = sums[frames] - sums[start], sums[end] - sums[frames]
    size = np.linalg.norm(before, axis=1) * np.linalg.norm(after, axis=1)
    alike = (before * after).sum(axis=1) / np.maximum(size, LEAST)
    change: Floats = np.where(size > LEAST, 1 - alike, 0.0)
    return change
