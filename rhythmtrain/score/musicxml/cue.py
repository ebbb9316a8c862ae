"""The cue line: what the player hears in the rests, from the accompanist's part or from cue notes.

Of the accompanist only the top line is taken: in the upper staff, where it plays at all, a note that begins
below one that still sounds is not heard as the tune.  It is heard in the player's rests alone, and
ends where the player begins.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from rhythmtrain.score.musicxml.ties import JoinedNote

UPPER_STAFF = 1


def cue_notes(
    accompanist: Sequence[JoinedNote], player: Sequence[JoinedNote]
) -> tuple[JoinedNote, ...]:
    """Return the top line of ``accompanist`` where ``player`` is silent, ends cut at the player's notes."""
    rests = list(_rests(player, max((note.end for note in accompanist), default=Fraction(0))))
    return tuple(
        replace(note, end=min(note.end, stop))
        for start, stop in rests
        for note in _top_line(_within(accompanist, start, stop))
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
    """Return the notes that begin in a rest; those of the upper staff, if it has any there."""
    first = bisect_left(notes, start, key=lambda note: note.at)
    inside = notes[first : bisect_right(notes, stop, key=lambda note: note.at)]
    inside = [note for note in inside if note.at < stop]
    return [note for note in inside if note.staff == UPPER_STAFF] or inside


def _top_line(notes: Sequence[JoinedNote]) -> Iterator[JoinedNote]:
    """Yield the highest note at each onset, unless a higher one that began before still sounds."""
    highest: dict[Fraction, JoinedNote] = {}
    for note in notes:
        rival = highest.get(note.at)
        if rival is None or (note.pitch or 0) > (rival.pitch or 0):
            highest[note.at] = note
    line: JoinedNote | None = None
    for at in sorted(highest):
        note = highest[at]
        if line is not None and line.end > at and (line.pitch or 0) > (note.pitch or 0):
            continue
        if line is not None:
            yield replace(line, end=min(line.end, at))
        line = note
    if line is not None:
        yield line
