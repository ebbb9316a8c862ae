"""What stands over the bars of a sheet, and between its notes: tempo, landmarks, ties, pauses, breaths."""

from collections.abc import Iterator
from html import escape

from rhythmtrain.report.passage.systems import tempo_words
from rhythmtrain.report.sheets.measures import SheetLook, SheetMeasure
from rhythmtrain.report.words import number as in_words
from rhythmtrain.score.counts import place_of
from rhythmtrain.score.entries import entries_of
from rhythmtrain.score.passage import Bar, Note, Passage, notes_of

TWICE = 2


def words_over(
    passage: Passage, measure: SheetMeasure, look: SheetLook, *, first: bool
) -> Iterator[str]:
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
        yield direction(landmark, 1, bold=True)
    if measure.times > TWICE:
        yield direction(f"{in_words(measure.times)} times in all", 1)


def _tempo(words: str) -> str:
    return f'<tempo staff="1" place="above" tstamp="1">{escape(words)}</tempo>'


def direction(words: str, tstamp: float, *, bold: bool = False) -> str:
    """Return words over the staff at a place in beats from 1."""
    text = escape(words, quote=False)
    text = f'<rend fontweight="bold" fontstyle="normal">{text}</rend>' if bold else text
    return f'<dir staff="1" place="above" tstamp="{tstamp:g}">{text}</dir>'


def ties_from(measures: list[SheetMeasure], number: int) -> Iterator[str]:
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


def pause_over(measures: list[SheetMeasure], number: int) -> Iterator[str]:
    """Yield the fermata over the last sign before a bar that comes after a pause."""
    following = measures[number + 1].bar.bar if number + 1 < len(measures) else None
    signs = measures[number].bar.signs
    if following is not None and following.pause and signs:
        name = f"b{measures[number].index}s{len(signs) - 1}"
        yield f'<fermata startid="#{name}" place="above"/>'


def breaths_before(passage: Passage, drawn: list[SheetMeasure]) -> Iterator[tuple[int, str]]:
    """Yield (index of the measure's first bar, breath mark) for every entry after a rest."""
    notes = notes_of(passage.bars)
    measures = {each.index: each for each in drawn}
    for entry in entries_of(passage):
        if entry.rest:
            yield from _breath(notes[entry.note], passage.bars, measures)


def _breath(
    note: Note, bars: tuple[Bar, ...], measures: dict[int, SheetMeasure]
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
