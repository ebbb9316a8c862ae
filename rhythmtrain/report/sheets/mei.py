"""A passage as one MEI document: what the engraver is given.

Two staves: the rhythm (on one line, or on five where its pitches are wanted, written as the player
reads them), and the counts under it.  Bars of rest in a row are one sign with their number; where the accompanist's cue is known it
stands small in the player's rests, and a breath mark stands before every entry.
"""

from collections.abc import Iterator
from dataclasses import replace

from rhythmtrain.errors import DrillError
from rhythmtrain.remedies import remedy
from rhythmtrain.report.sheets.counts import as_notes, line_for, printed_counts
from rhythmtrain.report.sheets.measures import SheetLook, SheetMeasure, first_note, sheet_measures
from rhythmtrain.report.sheets.pitches import Accidentals, clef
from rhythmtrain.report.sheets.signs import (
    breaths_before,
    direction,
    pause_over,
    ties_from,
    words_over,
)
from rhythmtrain.report.sheets.staff import DURATIONS, counts_layer, cue_layer, notes_layer
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.notation.notation import NotatedBar
from rhythmtrain.score.passage import Passage
from rhythmtrain.score.pitches import Spelling, spelling_of
from rhythmtrain.score.repeats import ending_numbers

HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
    "<titleStmt><title/></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
)
SECOND_TIME = 2
# Under a rest of many bars a blank syllable keeps the count before it in its place.
SILENT = (
    '<note dur="1" loc="0" head.visible="false" stem.visible="false">'
    '<verse n="1"><syl>\u00a0</syl></verse></note>'
)
TAIL = "</score></mdiv></body></music></mei>"
PLAIN = SheetLook()


def mei_of(passage: Passage, look: SheetLook = PLAIN) -> str:
    """Return ``passage`` as an MEI document for the engraver.

    Raises:
        DrillError: a bar holds a length for which there is no sign.
    """
    lines, spelling = 'lines="1" clef.shape="perc" clef.line="1"', None
    if look.five and (pitches := _pitches(passage)):
        shape = clef(pitch + passage.written_up for pitch in pitches)
        lines = f'lines="5" clef.shape="{shape}" clef.line="{_line(shape)}"'
        spelling = spelling_of(pitches, up=passage.written_up)
    staves = (
        f'<scoreDef system.leftline="false"><staffGrp><staffDef n="1" {lines} '
        f'{_metre(passage.metre)}/><staffDef n="2" lines="1" lines.visible="false"/></staffGrp>'
        "</scoreDef>"
    )
    body = "".join(_body(passage, look, spelling))
    return f"{HEAD}{staves}<section>{body}</section>{TAIL}"


def line_needed(passage: Passage, look: SheetLook = PLAIN) -> float:
    """Return how long the lines must be, in the drawing's units, that no two counts may touch."""
    return line_for(
        printed_counts(measure.bar, look.counting)
        for measure in sheet_measures(passage, look)
        if measure.many == 1
    )


def _pitches(passage: Passage) -> list[int]:
    return [pitch for bar in passage.bars for place in bar.places for pitch in place.pitches]


def _body(passage: Passage, look: SheetLook, spelling: Spelling | None) -> Iterator[str]:
    measures = list(sheet_measures(passage, look))
    breaths = dict(breaths_before(passage, measures))
    endings = ending_numbers(passage.bars)
    shown = passage.metre
    cued = False
    for number, measure in enumerate(measures):
        bar = measure.bar.bar
        if bar.metre.groups != shown.groups or bar.metre.unit != shown.unit:
            yield f'<scoreDef><staffGrp><staffDef n="1" {_metre(bar.metre)}/></staffGrp></scoreDef>'
            shown = bar.metre
        opens = f'<ending n="{endings[measure.index]}">' if bar.ending else ""
        words = list(words_over(passage, measure, look, first=number == 0))
        if measure.cue and not cued:
            words.append(direction(look.player, 1))
        cued = measure.cue is not None
        signs = [*words, *ties_from(measures, number), *pause_over(measures, number)]
        signs += [breaths[measure.index]] if measure.index in breaths else []
        content = _staves(measure, look, spelling)
        closes = "</ending>" if _ending_closes(measures, number) else ""
        yield f"{opens}<measure {_attributes(measures, number)}>{content}{''.join(signs)}</measure>{closes}"


def _staves(measure: SheetMeasure, look: SheetLook, spelling: Spelling | None) -> str:
    bar = measure.bar
    if measure.many > 1:
        return _staff(1, f'<multiRest num="{measure.many}"/>') + _staff(2, SILENT)
    counts = printed_counts(bar, look.counting)
    for each in (bar, as_notes(bar, counts), *([measure.cue] if measure.cue else [])):
        _check_signs(each)
    accidentals = None if spelling is None else Accidentals(spelling)
    layers = [notes_layer(bar, measure.index, accidentals, cued=measure.cue is not None)]
    if measure.cue is not None:
        layers.append(cue_layer(measure.cue, first_note(bar), accidentals))
    if measure.nth and counts:
        counts = (replace(counts[0], text=f"({measure.nth})"), *counts[1:])
    return _staff(1, *layers) + _staff(2, counts_layer(bar, counts))


def _check_signs(bar: NotatedBar) -> None:
    """Refuse a length that no note value, dotted or in a tuplet, stands for."""
    odd = next((sign for sign in bar.signs if sign.value not in DURATIONS), None)
    if odd is not None:
        raise DrillError(
            f"{odd.length} of a quarter is too fine or too uneven for any sign, so this bar cannot be "
            f"drawn: leave it out{remedy('by-bars')}, or write it plainer",
            bar=bar.bar.number,
        )


def _staff(number: int, *layers: str) -> str:
    inside = "".join(
        f'<layer n="{layer}">{content}</layer>' for layer, content in enumerate(layers, start=1)
    )
    return f'<staff n="{number}">{inside}</staff>'


def _attributes(measures: list[SheetMeasure], number: int) -> str:
    measure = measures[number]
    bar = measure.bar.bar
    last = number == len(measures) - 1
    left = ' left="rptstart"' if bar.opens else ""
    closing = measure.times
    right = ' right="rptend"' if closing else ' right="end"' if last else ""
    short = ' metcon="false"' if bar.length != bar.metre.length else ""
    return f'xml:id="m{measure.index}" n="{bar.number}"{left}{right}{short}'


def _ending_closes(measures: list[SheetMeasure], number: int) -> bool:
    """Return whether the first or second time bars end with this one."""
    open_since = 0
    for earlier in measures[: number + 1]:
        open_since = earlier.bar.bar.ending or open_since
        closed = earlier.bar.bar.times or open_since == SECOND_TIME
        if earlier is measures[number]:
            return bool(open_since and closed)
        open_since = 0 if closed else open_since
    return False


def _metre(metre: Metre) -> str:
    return f'meter.count="{"+".join(map(str, metre.groups))}" meter.unit="{metre.unit}"'


def _line(shape: str) -> int:
    return 4 if shape == "F" else 2
