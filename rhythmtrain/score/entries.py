"""Entries: the notes one has to come in on.

An entry is the first note after a rest of a bar or more, or after a rest of at least a beat in
which the cue plays, or one that the drill marks.  The first note of a passage without a rest
before it is no entry: the count-in leads to it.
"""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.passage import Bar, EntryMark, Passage, bar_starts, notes_of


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry: ``note`` is the index of its note; ``rest`` is the silence before, in quarters.

    ``rest_bars`` counts whole bars of silence, ``rest_beats`` all silent beats, in beats of the
    metre in force where they lie.
    """

    note: int
    bar: int
    count: str
    rest: Fraction
    rest_bars: int
    rest_beats: Fraction
    prepare: Fraction = Fraction(1)
    word: str = "ready"


def entries_of(passage: Passage) -> tuple[Entry, ...]:
    """Return the entries of ``passage`` as written, in order."""
    return find_entries(passage.bars, passage.cue, passage.marks)


def find_entries(
    bars: tuple[Bar, ...], cue: tuple[Bar, ...], marks: tuple[EntryMark, ...]
) -> tuple[Entry, ...]:
    """Return the entries among the notes of ``bars`` played once in the order given."""
    starts = bar_starts(bars)
    notes = notes_of(bars)
    cues = [note.at for note in notes_of(cue)] if cue else []
    asked = {(mark.bar, mark.count): mark for mark in marks}
    found = []
    silent_from = starts[0]
    for number, note in enumerate(notes):
        rest = note.at - silent_from
        mark = asked.get((note.bar, note.count))
        bar = bars[note.index]
        beat = bar.metre.beats[0].length
        heard = rest >= beat and bisect_left(cues, silent_from) < bisect_left(cues, note.at)
        if mark or heard or rest >= bar.metre.length:
            whole, beats = _silence(bars, starts, silent_from, note.at)
            entry = Entry(number, note.bar, note.count, rest, whole, beats)
            found.append(_as_asked(entry, mark))
        silent_from = note.at + note.length
    return tuple(found)


def _as_asked(entry: Entry, mark: EntryMark | None) -> Entry:
    if mark is None:
        return entry
    return Entry(
        entry.note,
        entry.bar,
        entry.count,
        entry.rest,
        entry.rest_bars,
        entry.rest_beats,
        mark.prepare,
        mark.word,
    )


def _silence(
    bars: tuple[Bar, ...], starts: list[Fraction], begin: Fraction, end: Fraction
) -> tuple[int, Fraction]:
    """Return the whole bars and the beats that lie between ``begin`` and ``end``."""
    whole, beats = 0, Fraction(0)
    first, last = max(bisect_right(starts, begin) - 1, 0), bisect_left(starts, end)
    for bar, start in zip(bars[first:last], starts[first:last], strict=True):
        low, high = max(begin, start), min(end, start + bar.length)
        whole += low == start and high == start + bar.length == start + bar.metre.length
        shift = bar.begins - start
        beats += sum(
            (
                max(
                    Fraction(0),
                    min(high + shift, beat.start + beat.length) - max(low + shift, beat.start),
                )
                / beat.length
                for beat in bar.metre.beats
            ),
            Fraction(0),
        )
    return whole, beats
