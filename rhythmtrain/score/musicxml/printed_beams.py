"""The beams of a score, which tell the groups of a metre such as 7/8 where nothing else does.

Common practice beams by beats; where a metre has no beats of more than one eighth, it is the composer's beams
that say whether its seven are two, two and three.  They are kept for paper alone: one counts as before.
"""

from collections.abc import Sequence
from fractions import Fraction

from rhythmtrain.score.musicxml.file_notes import FileNote
from rhythmtrain.score.musicxml.lines import Line

BEGINS, ENDS = "begin", "end"
Beams = tuple[tuple[Fraction, Fraction], ...]


def beams_of(notes: Sequence[FileNote]) -> Beams:
    """Return where the first and last note under each beam of a bar begin; of its first beamed voice."""
    voice = next((note.voice for note in notes if note.beam), None)
    found: list[tuple[Fraction, Fraction]] = []
    begun: Fraction | None = None
    for note in notes:
        if note.voice != voice:
            continue
        if note.beam == BEGINS:
            begun = note.at
        elif note.beam == ENDS and begun is not None:
            found.append((begun, note.at))
            begun = None
    return tuple(found)


def beams_in(line: Line, notes: Sequence[FileNote], bar_start: Fraction) -> Beams:
    """Return the beams of a bar's ``notes`` that lie in ``line``, in quarters from its nominal start."""
    shift = bar_start - line.start + line.begins
    moved = ((first + shift, last + shift) for first, last in beams_of(notes))
    return tuple(beam for beam in moved if line.begins <= beam[0] and beam[1] < line.ends)
