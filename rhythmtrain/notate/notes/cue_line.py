"""The line of the accompanist's part that a player listens for: the tune, the bass, or everything.

The ear follows the top: in the upper staff, where it plays at all, a note that begins below one that
still sounds is not heard as the tune.  The bass is the same from below.  A part that was played and
not written is put on the nearest sixteenth or triplet.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.notes.written_part import WrittenNote, WrittenPart
from rhythmtrain.score.passage import Passage, bar_starts, numbered

TOP, LOWER, ALL = "top", "lower", "all"
UPPER_STAFF = 1
# A written place is one of these parts of a quarter note; a played one goes to the nearest step.
FINEST = 48
STEPS = (Fraction(1, 4), Fraction(1, 3))

Line = tuple[tuple[Fraction, Fraction, tuple[int, ...]], ...]


def notes_before(
    part: WrittenPart, passage: Passage, bar: int, begin: Fraction, end: Fraction
) -> tuple[WrittenNote, ...]:
    """Return the notes of ``part`` from ``begin`` until before ``end``, in quarters of ``passage``.

    The two are laid on each other at the bar printed as ``bar``; what comes before it is what is played
    before it.

    Raises:
        RequestError: the part has no such bar, or has it in another length.
    """
    index = numbered(passage, bar)
    ours = passage.bars[index]
    theirs = next((each for each in part.bars if each.number == bar), None)
    if theirs is None:
        numbers = [each.number for each in part.bars]
        raise RequestError(
            f"the notes have bars {min(numbers)} to {max(numbers)}, not bar {bar}: are they of this "
            "piece?"
        )
    if theirs.metre.length != ours.metre.length:
        raise RequestError(
            f"bar {bar} is in {ours.metre} in the passage and in {theirs.metre} in the notes: are they "
            "of this piece?"
        )
    later = bar_starts(passage.bars)[index] - ours.begins - (theirs.start - theirs.begins)
    moved = (
        WrittenNote(_on_grid(note.at) + later, note.length, note.pitch, note.staff)
        for note in part.notes
    )
    ordered = sorted(moved, key=lambda note: note.at)
    first = bisect_left(ordered, begin, key=lambda note: note.at)
    return tuple(ordered[first : bisect_left(ordered, end, key=lambda note: note.at)])


def line_by_bar(part: WrittenPart, voice: str = TOP) -> dict[int, tuple[Fraction, ...]]:
    """Return where the notes of the line ``voice`` begin in every printed bar, in quarters from beat 1.

    Of a bar that is played more than once, as it is played first.
    """
    moved = [replace(note, at=_on_grid(note.at)) for note in part.notes]
    onsets = [at for at, _, _ in line_of(sorted(moved, key=lambda note: note.at), voice)]
    found: dict[int, tuple[Fraction, ...]] = {}
    before = None
    for bar in part.bars:
        if bar.number in found and not (before is not None and bar.completes(before)):
            continue
        low, high = bisect_left(onsets, bar.start), bisect_left(onsets, bar.start + bar.length)
        inside = tuple(at - bar.start + bar.begins for at in onsets[low:high])
        found[bar.number] = (*found.get(bar.number, ()), *inside)
        before = bar
    return found


def line_of(notes: Sequence[WrittenNote], voice: str = TOP) -> Line:
    """Return (onset, length, pitches) of the line ``voice`` ("top", "lower", "all") of ``notes``."""
    if voice == ALL:
        return tuple(_chords(notes))
    upper = [note for note in notes if note.staff == UPPER_STAFF]
    lower = [note for note in notes if note.staff != UPPER_STAFF]
    chosen, outward = (lower, -1) if voice == LOWER else (upper, 1)
    return tuple(_outermost(chosen or notes, outward))


def _on_grid(at: Fraction) -> Fraction:
    if FINEST % at.denominator == 0:
        return at
    return min((round(at / step) * step for step in STEPS), key=lambda place: abs(place - at))


def _by_onset(notes: Sequence[WrittenNote]) -> Iterator[tuple[Fraction, list[WrittenNote]]]:
    for at, struck in groupby(sorted(notes, key=lambda note: note.at), key=lambda note: note.at):
        yield at, list(struck)


def _chords(notes: Sequence[WrittenNote]) -> Iterator[tuple[Fraction, Fraction, tuple[int, ...]]]:
    for at, struck in _by_onset(notes):
        pitches = tuple(sorted({note.pitch for note in struck}))
        yield at, max(note.length for note in struck), pitches


def _outermost(
    notes: Sequence[WrittenNote], outward: int
) -> Iterator[tuple[Fraction, Fraction, tuple[int, ...]]]:
    """Yield the outermost note at each onset, unless one further out that began before still sounds."""
    line: list[WrittenNote] = []
    for at, struck in _by_onset(notes):
        note = max(struck, key=lambda each: outward * each.pitch)
        covered = line and line[-1].at + line[-1].length > at
        if not (covered and outward * (line[-1].pitch - note.pitch) > 0):
            line.append(note)
    ends = [*(late.at for _, late in pairwise(line)), None]
    for note, end in zip(line, ends, strict=True):
        length = note.length if end is None else min(note.length, end - note.at)
        yield note.at, length, (note.pitch,)
