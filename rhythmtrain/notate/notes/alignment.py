"""Written notes laid on a recording of them: coarse, fine, then chord by chord.

1.  The written chroma, five frames a second at a steady tempo that fills the sounding part, is
    aligned with the recording's.  Every frame of the recording costs exactly once: what its best
    partner differs by, or a set price for lying before the first or after the last note.  All
    written frames are passed, at no more than twice the tempo.  So silence, noise and applause at
    the ends are left out because leaving them out is cheaper, and the path cannot collapse onto a
    fragment of the piece, as one with free ends does.  It is done twice: the second time with the
    tempo that the first found.
2.  In a band of 1.2 s around that path, at 50 frames a second, chroma and rises together.
3.  Each chord moves, by up to 0.3 s, to where its own pitches rise (``chord_places``).

Whether the notes fit is told against the same notes with their order upset: notes of another piece
in the same key fit no better than that.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import TakeError
from rhythmtrain.notate.beats.decoding import RIGHT_S
from rhythmtrain.notate.notes.chord_places import PATH_AHEAD_S, Sounding, placed_chords
from rhythmtrain.notate.notes.coarse_chroma import (
    COARSE,
    FEWEST_FRAMES,
    OUTSIDE,
    PENALTY,
    heard_chroma,
    path_cost,
    sounding_frames,
    written_chroma,
)
from rhythmtrain.notate.notes.paths import banded_path, framed_path
from rhythmtrain.notate.notes.written_chroma import WrittenNotes, folded, with_rises, written_levels

FINE_A_SECOND = 50
BAND_FRAMES = 60
UPSET_ORDER = (11, 4, 14, 1, 8, 13, 6, 3, 15, 10, 0, 7, 12, 5, 2, 9)
# Of 24 development performances the notes' own cost was at most .6 of the upset notes' and at most
# .3; for notes of other pieces it was .85 of it and .55 or more.
WORST_SHARE, WORST_COST = 0.75, 0.45
SHORTEST_S = 4.0
# How far a mark by ear bends the path: its rough course, and the chords.
CENTRE_QUARTERS, BENT_QUARTERS = 32.0, 4.0

Floats = NDArray[np.float64]
Frames = NDArray[np.float32]
Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class AlignedNotes:
    """Every chord's place in quarters, its second, and how sure that is.

    ``strength`` is how strongly the chord begins there, 0 to 1; ``moved_s`` how far that lies from
    where the path was: a chord that had to be moved far may have been taken for its neighbour.
    """

    quarters: Floats
    seconds: Floats
    strength: Floats
    moved_s: Floats


def align_notes(
    sounding: Sounding, notes: WrittenNotes, marks: Sequence[tuple[float, float]] = ()
) -> AlignedNotes:
    """Return where the chords of ``notes`` fall in the recording.

    ``marks`` (quarter, second) are places that a person found by ear: the path is bent to them.

    Raises:
        TakeError: the recording is too short, or holds another piece.
    """
    if len(sounding.levels) < SHORTEST_S * FINE_A_SECOND:
        raise TakeError(
            f"the recording is shorter than {SHORTEST_S:g} s: too short to find the notes in it"
        )
    pairs = _coarse(sounding, notes)
    rough_s = _bent(_fine(sounding, notes, pairs, marks), notes.chords, marks, BENT_QUARTERS)
    seconds, strength = placed_chords(sounding, notes.by_chord(), rough_s)
    moved_s = np.abs(seconds - rough_s - PATH_AHEAD_S)
    seconds = _bent(seconds, notes.chords, marks, BENT_QUARTERS)
    return AlignedNotes(notes.chords, seconds, strength, moved_s)


def _bent(
    seconds: Floats, quarters: Floats, marks: Sequence[tuple[float, float]], reach: float
) -> Floats:
    """Return ``seconds`` moved so that they pass each mark, less and less as far as ``reach``.

    A mark within 70 ms changes nothing: an ear is no finer than that, and the recording is.
    """
    for quarter, second in marks:
        away = second - float(np.interp(quarter, quarters, seconds))
        if abs(away) > RIGHT_S and quarters[0] <= quarter <= quarters[-1]:
            share = np.clip(1 - np.abs(quarters - quarter) / reach, 0, 1)
            seconds = np.maximum.accumulate(seconds + away * share)
    return seconds


def _coarse(sounding: Sounding, notes: WrittenNotes) -> tuple[Indices, int]:
    """Return pairs (recorded, written) of frames of 1/5 s, and how many were written."""
    heard = heard_chroma(sounding)
    written = written_chroma(sounding, notes, sounding_frames(sounding))
    pairs = framed_path(1 - heard @ written.T, outside=OUTSIDE, penalty=PENALTY)
    count = max(int(pairs[-1, 0] - pairs[0, 0] + 1), FEWEST_FRAMES)
    written = written_chroma(sounding, notes, count)
    pairs = framed_path(1 - heard @ written.T, outside=OUTSIDE, penalty=PENALTY)
    _refuse_another(heard, written, pairs)
    return _without_ringing(pairs), count


def _without_ringing(pairs: Indices) -> Indices:
    """Return ``pairs`` up to the first of the last written frame: what follows only rings on."""
    arrived = int(np.argmax(pairs[:, 1] == pairs[-1, 1]))
    return pairs[: arrived + 1]


def _refuse_another(heard: Frames, written: Frames, pairs: Indices) -> None:
    """Raise TakeError unless the notes fit much better than with their order upset."""
    parts = np.array_split(np.arange(len(written)), len(UPSET_ORDER))
    upset = written[np.concatenate([parts[place] for place in UPSET_ORDER])]
    other = framed_path(1 - heard @ upset.T, outside=OUTSIDE, penalty=PENALTY)
    own_cost, upset_cost = path_cost(heard, written, pairs), path_cost(heard, upset, other)
    if own_cost > WORST_COST or own_cost > WORST_SHARE * upset_cost:
        raise TakeError(
            "these notes do not fit this recording: is it another piece, another key, or are "
            "repeats not played as written?"
        )


def _fine(
    sounding: Sounding,
    notes: WrittenNotes,
    coarse: tuple[Indices, int],
    marks: Sequence[tuple[float, float]],
) -> Floats:
    """Return the rough second of every chord, from the path at 50 frames a second."""
    pairs, count = coarse
    lowest, pitches = sounding.lowest, sounding.levels.shape[1]
    frames = int(pairs[-1, 0] - pairs[0, 0] + 1) * COARSE + 1
    levels, rises = written_levels(notes, frames, lowest=lowest, pitches=pitches)
    written = with_rises(folded(levels, lowest), folded(rises, lowest))
    heard_rises = np.zeros_like(sounding.levels)
    heard_rises[1:-1] = np.maximum(0, sounding.levels[2:] - sounding.levels[:-2])
    heard = with_rises(folded(sounding.levels, lowest), folded(heard_rises, lowest))
    centres = np.interp(
        np.arange(frames), (pairs[:, 1] + 0.5) / count * (frames - 1), (pairs[:, 0] + 0.5) * COARSE
    )
    first, last = notes.ends
    written_at = first + np.arange(frames) / (frames - 1) * (last - first)
    centres = FINE_A_SECOND * _bent(centres / FINE_A_SECOND, written_at, marks, CENTRE_QUARTERS)
    path = banded_path(
        heard, written, np.rint(centres).astype(np.int64), half=BAND_FRAMES, penalty=PENALTY
    )
    visits = np.bincount(path[:, 0], minlength=frames)
    middles = np.bincount(path[:, 0], weights=path[:, 1], minlength=frames) / np.maximum(visits, 1)
    places = (notes.chords - first) / (last - first) * (frames - 1)
    rough: Floats = np.interp(places, np.flatnonzero(visits), middles[visits > 0]) / FINE_A_SECOND
    return rough
