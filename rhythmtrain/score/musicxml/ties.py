"""The notes of a part with ties joined: one onset for each, wherever the tied notes stand.

A note with a tie that comes from somewhere goes on with a note of the same pitch that has a tie to
somewhere and ends exactly where it begins: over bar lines (also of a bar that its part leaves short),
into a chord, out of another voice (the same voice is tried first).  A tie to nowhere, or from nowhere, joins nothing.

At the first bar of a second time a tie comes from the bar before the first time, which is played before
it but does not stand before it: such a note is *resumed*, and has no onset there.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from rhythmtrain.score.musicxml.bars import SharedBar
from rhythmtrain.score.musicxml.file_notes import FileNote
from rhythmtrain.score.musicxml.measure import Measure

NOWHERE: Mapping[int, int] = {}


@dataclass(frozen=True, slots=True)
class JoinedNote:
    """A note as one hears it: quarters from the first bar of the file, and the index of its bar."""

    at: Fraction
    end: Fraction
    bar: int
    pitch: int | None
    accent: bool
    staff: int
    cue: bool
    resumed: bool = False


def file_starts(bars: Sequence[SharedBar]) -> list[Fraction]:
    """Return where each bar begins in the file's order, and where the last ends, in quarters."""
    starts = [Fraction(0)]
    for bar in bars:
        starts.append(starts[-1] + bar.length)
    return starts


def joined_notes(
    measures: Sequence[Measure],
    bars: Sequence[SharedBar],
    *,
    comes_from: Mapping[int, int] = NOWHERE,
) -> tuple[JoinedNote, ...]:
    """Return the notes of a part in order, ties joined; what lies past the end of a bar is left out.

    ``comes_from`` says of the first bar of each later ending after which bar it is played.
    """
    starts = file_starts(bars)
    found: list[JoinedNote] = []
    open_ties: dict[str, list[tuple[Fraction, str, int]]] = {}
    left_open: set[tuple[Fraction, str]] = set()
    for bar, note in _in_order(measures, bars):
        at = starts[bar] + note.at
        end = starts[bar] + _end_in_bar(note, measures[bar].filled, bars[bar].length)
        waiting = open_ties.setdefault(note.key, [])
        place = _tied_to(waiting, note, at) if note.tied_from else None
        if place is None:
            place = len(found)
            resumed = (
                note.tied_from
                and not note.at
                and bar in comes_from
                and (starts[comes_from[bar] + 1], note.key) in left_open
            )
            found.append(
                JoinedNote(at, end, bar, note.pitch, note.accent, note.staff, note.cue, resumed)
            )
        else:
            found[place] = replace(found[place], end=max(end, found[place].end))
        if note.tied_on:
            waiting.append((end, note.voice, place))
            left_open.add((end, note.key))
    return tuple(found)


def _end_in_bar(note: FileNote, filled: Fraction, length: Fraction) -> Fraction:
    """Return where a note ends in its bar; one tied out of a bar that was left short fills it."""
    end = note.at + note.length
    return length if note.tied_on and end >= filled else min(end, length)


def _in_order(
    measures: Sequence[Measure], bars: Sequence[SharedBar]
) -> Iterator[tuple[int, FileNote]]:
    """Yield the notes of each bar by onset, each with the index of its bar."""
    for index, shared in enumerate(bars[: len(measures)]):
        for note in sorted(_played_in(measures, index), key=lambda note: note.at):
            if note.at < shared.length:
                yield index, note


def _played_in(measures: Sequence[Measure], index: int) -> list[FileNote]:
    """Return the notes of a bar; those of the bar that it repeats, where it stands for another."""
    while measures[index].like and index >= measures[index].like:
        index -= measures[index].like
    return measures[index].notes


def _tied_to(waiting: list[tuple[Fraction, str, int]], note: FileNote, at: Fraction) -> int | None:
    """Return the note that ``note`` goes on with, and let no other go on with it."""
    waiting[:] = [tie for tie in waiting if tie[0] >= at]
    ready = [tie for tie in waiting if tie[0] == at]
    if not ready:
        return None
    best = next((tie for tie in ready if tie[1] == note.voice), ready[0])
    waiting.remove(best)
    return best[2]
