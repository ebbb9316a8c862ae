"""The cue line: what the player hears in the rests, from the accompanist's part or from cue notes.

Of the accompanist the top line is taken: in the upper staff, where it plays at all, a note that begins
below one that still sounds is not heard as the tune.  On request it is the bass, the same from below in
the lower staff, or everything.  The notes that begin in the player's rests are heard, each as long as it
is written, also where the player comes in while it sounds; where the player's next rest begins something
new, that is heard in its place.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import zip_longest

from rhythmtrain.score.cue_part import CueLine
from rhythmtrain.score.musicxml.ties import JoinedNote

UPPER_STAFF = 1


def cue_notes(
    accompanist: Sequence[JoinedNote], player: Sequence[JoinedNote], wanted: CueLine
) -> tuple[JoinedNote, ...]:
    """Return the notes of a line of ``accompanist`` that begin where ``player`` is silent."""
    rests = _rests(player, max((note.end for note in accompanist), default=Fraction(0)))
    lines = [list(_line(_within(accompanist, start, stop), wanted)) for start, stop in rests]
    heard = [line for line in lines if line]
    following = [line[0].at for line in heard[1:]]
    return tuple(
        note if until is None else replace(note, end=min(note.end, until))
        for line, until in zip_longest(heard, following)
        for note in line
    )


def _rests(player: Sequence[JoinedNote], end: Fraction) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield where each of the player's rests begins and ends."""
    until = Fraction(0)
    for note in sorted(player, key=lambda note: note.at):
        if note.at > until:
            yield until, note.at
        until = max(until, note.end)
    if end > until:
        yield until, end


def _within(notes: Sequence[JoinedNote], start: Fraction, stop: Fraction) -> Sequence[JoinedNote]:
    """Return the notes that begin in a rest."""
    first = bisect_left(notes, start, key=lambda note: note.at)
    inside = notes[first : bisect_right(notes, stop, key=lambda note: note.at)]
    return [note for note in inside if note.at < stop]


def _line(notes: Sequence[JoinedNote], wanted: CueLine) -> Iterator[JoinedNote]:
    """Yield the notes of a line: of its own staff, if that has any here."""
    if wanted is CueLine.ALL:
        yield from notes
        return
    upper = wanted is CueLine.TOP
    own = [note for note in notes if (note.staff == UPPER_STAFF) is upper]
    yield from _outermost(own or notes, 1 if upper else -1)


def _outermost(notes: Sequence[JoinedNote], outward: int) -> Iterator[JoinedNote]:
    """Yield the outermost note at each onset, unless one further out that began before still sounds."""
    chosen: dict[Fraction, JoinedNote] = {}
    for note in notes:
        rival = chosen.get(note.at)
        if rival is None or outward * (note.pitch or 0) > outward * (rival.pitch or 0):
            chosen[note.at] = note
    line: JoinedNote | None = None
    for at in sorted(chosen):
        note = chosen[at]
        covered = line is not None and line.end > at
        if line is not None and covered and outward * ((line.pitch or 0) - (note.pitch or 0)) > 0:
            continue
        if line is not None:
            yield replace(line, end=min(line.end, at))
        line = note
    if line is not None:
        yield line
