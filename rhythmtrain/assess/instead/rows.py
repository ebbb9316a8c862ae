"""The rows that a beginner falls into: the beat, its halves or thirds, every other beat, the cue.

A row is laid on the bars of the timeline, so that it follows changes of metre and tempo, uneven
groups and the beats of a recording as the rhythm itself does.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction

from rhythmtrain.assess.clapped_rows import Row
from rhythmtrain.assess.written import Written, written_of
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Note
from rhythmtrain.timing.timeline import PlayedBar, PlayedNote, Role, Timeline

FEWEST_PLACES = 4
PLAYERS = (Role.PASSAGE, Role.ANSWER)
THIRDS, HALVES = 3, 2
Spots = Callable[[Metre], tuple[Fraction, ...]]


def rows_of(timeline: Timeline) -> Iterator[tuple[Row, Written]]:
    """Yield every row with its places, as they fall in ``timeline``; the beat comes first."""
    for row in Row:
        notes = row_notes(timeline, row)
        if len(notes) >= FEWEST_PLACES:
            yield row, written_of(replace(timeline, notes=notes, entries=()))


def row_notes(timeline: Timeline, row: Row) -> tuple[PlayedNote, ...]:
    """Return the places of ``row`` in the bars that the player plays."""
    if row is Row.CUE:
        return tuple(cue for cue in timeline.cues if cue.expected)
    return _placed(timeline, _SPOTS[row])


def part_of(timeline: Timeline) -> Fraction:
    """Return the smallest half of a simple beat, or third of a compound one, in quarters."""
    beats = (beat for bar in timeline.bars for beat in bar.bar.metre.beats)
    return min(beat.length / (THIRDS if beat.compound else HALVES) for beat in beats)


def _placed(timeline: Timeline, spots: Spots) -> tuple[PlayedNote, ...]:
    return tuple(
        _place(bar, number, bar.nominal + spot)
        for number, bar in enumerate(timeline.bars)
        if bar.role in PLAYERS
        for spot in spots(bar.bar.metre)
        if bar.start <= bar.nominal + spot < bar.stop
    )


def _place(bar: PlayedBar, number: int, at: Fraction) -> PlayedNote:
    note = Note(bar.index or 0, bar.bar.number, "", at, Fraction(0))
    return PlayedNote(note, number, at, bar.run, bar.repeat, bar.role)


def _beats(metre: Metre) -> tuple[Fraction, ...]:
    return tuple(beat.start for beat in metre.beats)


def _every_other(metre: Metre) -> tuple[Fraction, ...]:
    """Return every other beat, of an odd number the first alone."""
    beats = _beats(metre)
    return beats[::2] if len(beats) % 2 == 0 else beats[:1]


def _split(metre: Metre) -> tuple[Fraction, ...]:
    return tuple(
        beat.start + beat.length * part / parts
        for beat in metre.beats
        for parts in (THIRDS if beat.compound else HALVES,)
        for part in range(parts)
    )


_SPOTS: dict[Row, Spots] = {Row.BEAT: _beats, Row.SPLIT: _split, Row.OTHER: _every_other}
