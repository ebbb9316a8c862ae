"""Written notes as a recording would show them: levels of semitones, and chroma.

A note sounds from its onset to its end, with its first overtones fainter.  ``unit`` chroma has
length 1 in every frame; ``centred`` chroma has its mean taken off first, so that noise, which
sounds on all pitches alike, is like nothing written.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError

# Semitones above a note at which its overtones sound, and how strongly they are expected.
OVERTONES = ((0, 1.0), (12, 0.5), (19, 0.3), (24, 0.25))
# A rise is seen in the frames around it, more faintly.
SMEARED = ((1, 0.6), (2, 0.2))
FEWEST_CHORDS = 8
LAST_QUARTERS = 0.5
SAME_CHORD = 4  # decimals of a quarter

Floats = NDArray[np.float64]
Frames = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class WrittenNotes:
    """Notes as played through (repeats written out): arrays of one length.

    ``onset`` and ``length`` are in quarters, ``pitch`` is a MIDI number.
    """

    onset: Floats
    pitch: Floats
    length: Floats

    def __post_init__(self) -> None:
        """Refuse arrays that do not belong together, or too few notes to recognise."""
        table = (self.onset, self.pitch, self.length)
        if len({part.shape for part in table}) != 1 or self.onset.ndim != 1:
            raise RequestError("notes need an onset, a pitch and a length each")
        if not all(np.isfinite(part).all() for part in table) or (self.length <= 0).any():
            raise RequestError("notes need onsets and pitches that are numbers and lengths over 0")
        if self.chords.size < FEWEST_CHORDS:
            raise RequestError(
                f"{self.chords.size} chords are too few to find in a recording: give the whole part"
            )

    @property
    def chords(self) -> Floats:
        """Return the different onsets, in quarters, rising."""
        return np.unique(np.round(self.onset, SAME_CHORD))

    @property
    def ends(self) -> tuple[float, float]:
        """Return the first onset, and the last and half a quarter, in quarters.

        How long a last chord rings is nobody's writing, so it is not asked of the recording.
        """
        return float(self.onset.min()), float(self.onset.max()) + LAST_QUARTERS

    def by_chord(self) -> list[Floats]:
        """Return the different pitches of every chord."""
        place = np.searchsorted(self.chords, np.round(self.onset, SAME_CHORD))
        order = np.argsort(place, kind="stable")
        cuts = np.searchsorted(place[order], np.arange(1, self.chords.size))
        return [np.unique(part) for part in np.split(self.pitch[order], cuts)]


def written_levels(
    notes: WrittenNotes, frames: int, *, lowest: int, pitches: int
) -> tuple[Frames, Frames]:
    """Return levels and rises, shape (frames, pitches), of the notes at a steady tempo.

    The first onset falls on frame 0 and half a quarter after the last on the last frame.
    """
    levels = np.zeros((frames, pitches), np.float32)
    rises = np.zeros_like(levels)
    first, last = notes.ends
    scale = (frames - 1) / (last - first)
    starts = np.rint((notes.onset - first) * scale).astype(int)
    stops = np.maximum(starts + 1, np.rint((notes.onset + notes.length - first) * scale))
    rows = zip(starts.tolist(), stops.astype(int).tolist(), notes.pitch.tolist(), strict=True)
    for start, stop, pitch in rows:
        for above, strength in OVERTONES:
            place = round(pitch) + above - lowest
            if 0 <= place < pitches:
                part = levels[start:stop, place]
                np.maximum(part, strength, out=part)
                rises[start, place] += strength
    return levels, _smeared(rises)


def folded(levels: Frames, lowest: int) -> Frames:
    """Return levels of semitones summed over the octaves, shape (frames, 12), C first."""
    classes = (np.arange(levels.shape[1]) + lowest) % 12
    chroma: Frames = levels @ (classes[:, None] == np.arange(12)).astype(np.float32)
    return chroma


def unit(chroma: Frames) -> Frames:
    """Return each frame brought to length 1; a silent frame stays 0."""
    length = np.linalg.norm(chroma, axis=1, keepdims=True)
    brought: Frames = chroma / np.maximum(length, np.float32(1e-6))
    return brought


def centred(chroma: Frames) -> Frames:
    """Return each frame less its mean, brought to length 1."""
    return unit(chroma - chroma.mean(axis=1, keepdims=True))


def with_rises(chroma: Frames, rises: Frames) -> Frames:
    """Return unit frames, shape (frames, 24): what sounds, beside what begins."""
    usual = np.percentile(np.linalg.norm(rises, axis=1), 95)
    return unit(np.concatenate((unit(chroma), rises / np.float32(max(usual, 1e-6))), axis=1))


def averaged(frames: Frames, by: int) -> Frames:
    """Return the means of every ``by`` frames, leaving out a last part that is not whole."""
    whole = len(frames) // by
    means: Frames = frames[: whole * by].reshape(whole, by, -1).mean(axis=1)
    return means


def _smeared(rises: Frames) -> Frames:
    smeared = rises.copy()
    for shift, share in SMEARED:
        smeared[shift:] += np.float32(share) * rises[:-shift]
        smeared[:-shift] += np.float32(share) * rises[shift:]
    return smeared
