"""Recording and written notes as chroma of a fifth of a second: what sounds, roughly when."""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.notate.notes.chord_places import Sounding
from rhythmtrain.notate.notes.written_chroma import (
    WrittenNotes,
    averaged,
    centred,
    folded,
    written_levels,
)

# Frames of 1/50 s in a coarse one, and the finer frames in which written notes are laid out first.
COARSE, WRITTEN_PARTS = 10, 8
COARSE_A_SECOND = 5
FEWEST_FRAMES = 32
OUTSIDE, PENALTY = 0.5, 0.1
SOUNDING_SHARE = 0.25

Frames = NDArray[np.float32]
Indices = NDArray[np.int64]


def heard_chroma(sounding: Sounding) -> Frames:
    """Return the chroma of the recording, centred, shape (frames, 12)."""
    return centred(averaged(folded(sounding.levels, sounding.lowest), COARSE))


def written_chroma(sounding: Sounding, notes: WrittenNotes, count: int) -> Frames:
    """Return the chroma of the notes at a steady tempo, in ``count`` frames."""
    pitches = sounding.levels.shape[1]
    levels, _ = written_levels(
        notes, count * WRITTEN_PARTS, lowest=sounding.lowest, pitches=pitches
    )
    return centred(averaged(folded(levels, sounding.lowest), WRITTEN_PARTS))


def sounding_frames(sounding: Sounding) -> int:
    """Return how many coarse frames lie between the first and the last that are not nearly silent."""
    loud = sounding.levels.sum(axis=1)
    heard = np.flatnonzero(loud > SOUNDING_SHARE * np.percentile(loud, 90))
    fine = int(heard[-1] - heard[0] + 1) if heard.size else len(loud)
    return max(fine // COARSE, FEWEST_FRAMES)


def path_cost(heard: Frames, written: Frames, pairs: Indices) -> float:
    """Return the mean difference along ``pairs`` (recorded, written)."""
    return float(np.mean(1 - (heard[pairs[:, 0]] * written[pairs[:, 1]]).sum(axis=1)))
