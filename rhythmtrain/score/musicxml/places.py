"""The notes of a part as the counted places of its bars.

Several voices make one rhythm: a place is played where any note begins, and silence begins where the
last of them ends.  Every bar says at its beginning what goes on there, so that bars can be put in
another order (as played) and still mean the same.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest

from rhythmtrain.score.musicxml.lines import Line
from rhythmtrain.score.musicxml.ties import JoinedNote
from rhythmtrain.score.passage import Kind, Place


@dataclass(frozen=True, slots=True)
class _Turn:
    """A place at which something begins: a note, or silence."""

    at: Fraction
    kind: Kind
    accent: bool = False
    pitches: tuple[int, ...] = ()


def places_of(lines: Sequence[Line], notes: Sequence[JoinedNote]) -> tuple[tuple[Place, ...], ...]:
    """Return the places of each of ``lines``; a bar of rest has none."""
    turns = list(_turns(notes))[::-1]
    found = []
    sounding = False
    for line in lines:
        here = []
        while turns and turns[-1].at < line.stop:
            here.append(turns.pop())
        if not here or here[0].at > line.start:
            here.insert(0, _Turn(line.start, Kind.HELD if sounding else Kind.SILENT))
        kinds = [turn.kind for turn in here if turn.kind is not Kind.HELD]
        sounding = kinds[-1] is Kind.PLAYED if kinds else sounding or here[0].kind is Kind.HELD
        found.append(tuple(_placed(line, here)))
    return tuple(found)


def _turns(notes: Sequence[JoinedNote]) -> Iterator[_Turn]:
    """Yield where notes begin and where silence does, in order."""
    chords: dict[Fraction, list[JoinedNote]] = {}
    for note in notes:
        chords.setdefault(note.at, []).append(note)
    onsets = sorted(chords)
    until = Fraction(0)
    for at, following in zip_longest(onsets, onsets[1:]):
        chord = chords[at]
        until = max(until, *(note.end for note in chord))
        fresh = [note for note in chord if not note.resumed]
        pitches = tuple(sorted({note.pitch for note in fresh if note.pitch is not None}))
        kind = Kind.PLAYED if fresh else Kind.HELD
        yield _Turn(at, kind, any(note.accent for note in fresh), pitches)
        if following is None or until < following:
            yield _Turn(until, Kind.SILENT)


def _placed(line: Line, turns: Sequence[_Turn]) -> Iterator[Place]:
    """Yield the places of one bar; silence after silence says nothing new."""
    if all(turn.kind is Kind.SILENT for turn in turns):
        return
    for turn in turns:
        yield Place(turn.at - line.start + line.begins, turn.kind, turn.accent, turn.pitches)
