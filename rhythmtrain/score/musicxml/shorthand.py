"""What a file leaves out because a sign stands for it: beats that come again, bars of a long rest.

MusicXML 4.0 wants the repeated beats and all the bars of a multiple-rest to be in the file.  Some
programs write the sign alone.  Beats are filled in where neither note nor rest lies; bars are, where the
bar's number and that of the next tell that so many are missing.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from rhythmtrain.score.musicxml.file_notes import FileNote
from rhythmtrain.score.musicxml.measure import Measure

MOST_REST_BARS = 999


def written_out(measures: Iterable[Measure]) -> Iterator[Measure]:
    """Yield the bars of a part with what signs stand for filled in."""
    before: Measure | None = None
    last_beat: list[FileNote] = []
    for measure in measures:
        if before is not None:
            yield from _missing(before, measure)
        last_beat = _fill(measure, last_beat) if measure.beats_again else _tail(measure)
        yield measure
        before = measure


def _missing(before: Measure, measure: Measure) -> Iterator[Measure]:
    """Yield the bars that a multiple-rest in ``before`` stands for and that are not in the file."""
    first, after = _number(before), _number(measure)
    if first is None or after is None or not 1 < before.rest_bars <= MOST_REST_BARS:
        return
    if after - first != before.rest_bars:
        return
    for number in range(first + 1, after):
        yield Measure(str(number), implicit=False, metres=[(Fraction(0), before.metres[-1][1])])


def _number(measure: Measure) -> int | None:
    printed = measure.printed.strip()
    return int(printed) if printed.isascii() and printed.isdigit() and len(printed) <= 5 else None  # noqa: PLR2004


def _fill(measure: Measure, last: list[FileNote]) -> list[FileNote]:
    """Fill the empty beats of ``measure`` with the beat before; return the notes of its last beat.

    Notes are told in quarters from the beginning of their beat.
    """
    beat, end = measure.beats_again, measure.nominal or measure.filled
    at = Fraction(0)
    while at + beat <= end:
        if any(low < at + beat and at < high for low, high in measure.covered):
            last = _within(measure, at, beat)
        elif last:
            measure.notes += [replace(note, at=at + note.at) for note in last]
            measure.filled = max(measure.filled, at + beat)
            measure.like = 0
        at += beat
    return last


def _tail(measure: Measure) -> list[FileNote]:
    """Return the notes of the last beat of a bar, in quarters from its beginning."""
    metre = measure.metres[-1][1]
    if metre is None or measure.nominal is None:
        return []
    beat = metre.beats[-1].length
    return _within(measure, measure.nominal - beat, beat)


def _within(measure: Measure, at: Fraction, beat: Fraction) -> list[FileNote]:
    return [
        replace(note, at=note.at - at, tied_from=False, tied_on=False)
        for note in measure.notes
        if at <= note.at < at + beat and note.at + note.length <= at + beat
    ]
