"""The cue line: what the player hears in the rests, from the accompanist's part or from cue notes.

Of the accompanist the top line is taken: in the upper staff, where it plays at all, a note that begins
below one that still sounds is not heard as the tune.  On request it is the bass, the same from below in
the lower staff, or everything.  It is heard in the player's rests alone, and ends where the player
begins.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from rhythmtrain.score.cue_part import CueLine
from rhythmtrain.score.musicxml.ties import JoinedNote

UPPER_STAFF = 1


def cue_notes(
    accompanist: Sequence[JoinedNote], player: Sequence[JoinedNote], wanted: CueLine
) -> tuple[JoinedNote, ...]:
    """Return a line of ``accompanist`` where ``player`` is silent, ends cut at the player's notes."""
    rests = list(_rests(player, max((note.end for note in accompanist), default=Fraction(0))))
    return tuple(
        replace(note, end=min(note.end, stop))
        for start, stop in rests
        for note in _line(_within(accompanist, start, stop), wanted)
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
