"""A passage as one MEI document: what the engraver is given.

Two staves: the rhythm (on one line, or on five where its pitches are wanted), and the counts under
it.  Bars of rest in a row are one sign with their number; where the accompanist's cue is known it
stands small in the player's rests, and a breath mark stands before every entry.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from html import escape

from rhythmtrain.report.sheet_counts import printed_counts
from rhythmtrain.report.sheet_pitches import Accidentals, clef
from rhythmtrain.report.sheet_staff import counts_layer, cue_layer, notes_layer
from rhythmtrain.report.show_systems import tempo_words
from rhythmtrain.report.words import number as in_words
from rhythmtrain.score.counting import NUMBERS
from rhythmtrain.score.counts import place_of
from rhythmtrain.score.entries import entries_of
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.notation import NotatedBar, notated
from rhythmtrain.score.passage import Bar, Note, Passage, notes_of

TWICE = 2
HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?>'
    '<mei xmlns="http://www.music-encoding.org/ns/mei" meiversion="5.0"><meiHead><fileDesc>'
    "<titleStmt><title/></titleStmt><pubStmt/></fileDesc></meiHead><music><body><mdiv><score>"
)
TAIL = "</score></mdiv></body></music></mei>"


@dataclass(frozen=True, slots=True)
class SheetLook:
    """How a sheet is to look.

    ``five`` puts pitches on five lines where there are any, ``counting`` is the counting system,
    ``rests`` writes the count of long rests out, ``player`` names whoever plays the cue.
    """

    five: bool = False
    counting: str = NUMBERS
    rests: bool = False
    british: bool = False
    player: str = "piano"


PLAIN = SheetLook()


@dataclass(frozen=True, slots=True)
class _Measure:
    """One measure of the document: its bar, its cue, and how many bars of rest it stands for.

    ``nth`` counts the bars of a rest that is written out.
    """

    index: int
    bar: NotatedBar
    cue: NotatedBar | None
    many: int = 1
    nth: int = 0


def mei_of(passage: Passage, look: SheetLook = PLAIN) -> str:
    """Return ``passage`` as an MEI document for the engraver."""
    pitches = [pitch for bar in passage.bars for place in bar.places for pitch in place.pitches]
    five = look.five and bool(pitches)
    lines = f'lines="5" clef.shape="{clef(pitches)}" clef.line="{_line(clef(pitches))}"'
    if not five:
        lines = 'lines="1" clef.shape="perc" clef.line="1"'
    staves = (
        f'<scoreDef system.leftline="false"><staffGrp><staffDef n="1" {lines} '
        f'{_metre(passage.metre)}/><staffDef n="2" lines="1" lines.visible="false"/></staffGrp>'
        "</scoreDef>"
    )
    body = "".join(_body(passage, look, five=five))
    return f"{HEAD}{staves}<section>{body}</section>{TAIL}"


def _body(passage: Passage, look: SheetLook, *, five: bool) -> Iterator[str]:
    measures = list(_measures(passage, look))
    breaths = dict(_breaths(passage, measures))
    shown = passage.metre
    cued = False
    for number, measure in enumerate(measures):
        bar = measure.bar.bar
        if bar.metre.groups != shown.groups or bar.metre.unit != shown.unit:
            yield f'<scoreDef><staffGrp><staffDef n="1" {_metre(bar.metre)}/></staffGrp></scoreDef>'
            shown = bar.metre
        opens = f'<ending n="{bar.ending}">' if bar.ending else ""
        words = list(_words(passage, measure, look, first=number == 0))
        if measure.cue and not cued:
            words.append(_direction(look.player, 1))
        cued = measure.cue is not None
        signs = [*words, *_ties(measures, number), *_pause(measures, number)]
        signs += [breaths[measure.index]] if measure.index in breaths else []
        content = _staves(measure, look, five=five)
        closes = "</ending>" if _ending_closes(measures, number) else ""
        yield f"{opens}<measure {_attributes(measures, number)}>{content}{''.join(signs)}</measure>{closes}"


def _measures(passage: Passage, look: SheetLook) -> Iterator[_Measure]:
    bars = notated(passage.bars)
    cues = notated(passage.cue) if passage.cue else ()
    index = 0
    while index < len(bars):
        cue = cues[index] if cues and _cue_shows(cues[index], bars[index]) else None
        past = index + 1
        if not bars[index].signs and cue is None:
            while past < len(bars) and _goes_on(bars, cues, past):
                past += 1
        if look.rests and past - index > 1:
            for nth, bar in enumerate(bars[index:past], start=1):
                yield _Measure(index + nth - 1, bar, None, nth=nth)
        else:
            yield _Measure(index, bars[index], cue, past - index)
        index = past


def _cue_shows(cue: NotatedBar, bar: NotatedBar) -> bool:
    """Return whether the cue plays before the player does, in this bar."""
    until = _first_note(bar)
    return any(sign.begins and sign.at < until for sign in cue.signs)


def _first_note(bar: NotatedBar) -> Fraction:
    return next((sign.at for sign in bar.signs if not sign.rest), bar.bar.ends)


def _goes_on(bars: tuple[NotatedBar, ...], cues: tuple[NotatedBar, ...], past: int) -> bool:
    """Return whether bar ``past`` is one more bar of the same rest."""
    bar, before = bars[past].bar, bars[past - 1].bar
    marked = bar.opens or bar.ending or bar.tempo or bar.pause or bar.landmarks or before.times
    cued = bool(cues) and _cue_shows(cues[past], bars[past])
    whole = bar.length == bar.metre.length == before.length
    return not (bars[past].signs or marked or cued) and bar.metre == before.metre and whole


def _staves(measure: _Measure, look: SheetLook, *, five: bool) -> str:
    bar = measure.bar
    if measure.many > 1:
        return _staff(1, f'<multiRest num="{measure.many}"/>') + _staff(2, "<mSpace/>")
    accidentals = Accidentals() if five else None
    layers = [notes_layer(bar, measure.index, accidentals, cued=measure.cue is not None)]
    if measure.cue is not None:
        layers.append(cue_layer(measure.cue, _first_note(bar), accidentals))
    counts = printed_counts(bar, look.counting)
    if measure.nth and counts:
        counts = (replace(counts[0], text=f"({measure.nth})"), *counts[1:])
    return _staff(1, *layers) + _staff(2, counts_layer(bar, counts))


def _staff(number: int, *layers: str) -> str:
    inside = "".join(
        f'<layer n="{layer}">{content}</layer>' for layer, content in enumerate(layers, start=1)
    )
    return f'<staff n="{number}">{inside}</staff>'


def _attributes(measures: list[_Measure], number: int) -> str:
    measure = measures[number]
    bar = measure.bar.bar
    last = number == len(measures) - 1
    left = ' left="rptstart"' if bar.opens else ""
    closing = bar.times and measure.many == 1
    right = ' right="rptend"' if closing else ' right="end"' if last else ""
    short = ' metcon="false"' if bar.length != bar.metre.length else ""
    return f'xml:id="m{measure.index}" n="{bar.number}"{left}{right}{short}'


def _words(passage: Passage, measure: _Measure, look: SheetLook, *, first: bool) -> Iterator[str]:
    """Yield what is written over the bar: tempo, landmarks, repeats, the count of a long rest."""
    bar = measure.bar.bar
    if first and bar.tempo is None:
        yield _tempo(tempo_words(bar.metre, passage.tempo, british=look.british))
    if bar.tempo is not None:
        words = tempo_words(bar.metre, bar.tempo.bpm, british=look.british)
        if bar.tempo.to is not None:
            over = f"{bar.tempo.over_bars} bar{'s' * (bar.tempo.over_bars != 1)}"
            words += f" to {bar.tempo.to:.4g} over {over}"
        yield _tempo(words)
    for landmark in bar.landmarks:
        yield _direction(landmark, 1, bold=True)
    if bar.times > TWICE:
        yield _direction(f"{in_words(bar.times)} times in all", 1)


def _tempo(words: str) -> str:
    return f'<tempo staff="1" place="above" tstamp="1">{escape(words)}</tempo>'


def _direction(words: str, tstamp: float, *, bold: bool = False) -> str:
    text = escape(words, quote=False)
    text = f'<rend fontweight="bold" fontstyle="normal">{text}</rend>' if bold else text
    return f'<dir staff="1" place="above" tstamp="{tstamp:g}">{text}</dir>'


def _ties(measures: list[_Measure], number: int) -> Iterator[str]:
    """Yield the ties that begin in a bar."""
    measure = measures[number]
    signs = measure.bar.signs
    for position, sign in enumerate(signs):
        following = f"b{measure.index}s{position + 1}"
        if position + 1 == len(signs):
            if number + 1 == len(measures) or not measures[number + 1].bar.signs:
                continue
            following = f"b{measures[number + 1].index}s0"
        if sign.tied:
            yield f'<tie startid="#b{measure.index}s{position}" endid="#{following}"/>'


def _pause(measures: list[_Measure], number: int) -> Iterator[str]:
    """Yield the fermata over the last sign before a bar that comes after a pause."""
    following = measures[number + 1].bar.bar if number + 1 < len(measures) else None
    signs = measures[number].bar.signs
    if following is not None and following.pause and signs:
        name = f"b{measures[number].index}s{len(signs) - 1}"
        yield f'<fermata startid="#{name}" place="above"/>'


def _breaths(passage: Passage, drawn: list[_Measure]) -> Iterator[tuple[int, str]]:
    """Yield (index of the measure's first bar, breath mark) for every entry after a rest."""
    notes = notes_of(passage.bars)
    measures = {each.index: each for each in drawn}
    for entry in entries_of(passage):
        if entry.rest:
            yield from _breath(notes[entry.note], passage.bars, measures)


def _breath(
    note: Note, bars: tuple[Bar, ...], measures: dict[int, _Measure]
) -> Iterator[tuple[int, str]]:
    signs = measures[note.index].bar.signs
    at = place_of(bars[note.index].metre, note.count)
    position = next((n for n, sign in enumerate(signs) if sign.at == at), 0)
    if position:
        before = f'startid="#b{note.index}s{position - 1}"'
        yield note.index, f'<breath {before} staff="1" place="above"/>'
        return
    earlier = [index for index in measures if index < note.index]
    if earlier:
        metre = bars[note.index].metre
        beats = metre.length * metre.unit / 4
        yield max(earlier), f'<breath staff="1" tstamp="{float(beats) + 0.9:g}" place="above"/>'


def _ending_closes(measures: list[_Measure], number: int) -> bool:
    """Return whether the first or second time bars end with this one."""
    open_since = 0
    for earlier in measures[: number + 1]:
        open_since = earlier.bar.bar.ending or open_since
        closed = earlier.bar.bar.times or open_since == TWICE
        if earlier is measures[number]:
            return bool(open_since and closed)
        open_since = 0 if closed else open_since
    return False


def _metre(metre: Metre) -> str:
    return f'meter.count="{"+".join(map(str, metre.groups))}" meter.unit="{metre.unit}"'


def _line(shape: str) -> int:
    return 4 if shape == "F" else 2
