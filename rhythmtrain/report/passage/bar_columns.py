"""One bar as columns of text: its counts, and over them the note values.

Every counted place is a column.  A note value or rest stands over the column where it begins and
may reach over the columns through which it lasts; where it is wider than they are, they are spread
evenly.  Notes of one value inside a beat share a label, as one speaks of them: "4 16ths".
"""

from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise

from rhythmtrain.report.passage.note_values import TIE, Marks, plural, written_value
from rhythmtrain.score.counts import beat_at, inside_beat
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Place

BRACKETS = {Kind.PLAYED: ("", ""), Kind.SILENT: ("(", ")"), Kind.HELD: ("[", "]")}
GAP = 2
NARROWEST = 4
EIGHTHS_BEFORE = {Fraction(1, 2): Fraction(1, 3), Fraction(5, 6): Fraction(2, 3)}


@dataclass(frozen=True, slots=True)
class Column:
    """A counted place: the bracket before it, its count with what follows, and its width.

    ``label`` stands over it, or is empty where the value before reaches over this column.
    ``rank`` says how well a line can be broken before it: 2 on a beat where a value begins, 1
    where one begins inside a beat, 0 elsewhere.
    """

    opening: str
    count: str
    label: str
    rank: int
    width: int


@dataclass(frozen=True, slots=True)
class _Span:
    """A note, rest or rest of a tied note within the bar; ``first`` is its column."""

    kind: Kind
    first: int
    start: Fraction
    stop: Fraction
    name: str


def columns_of(bar: Bar, *, tied_on: bool, british: bool = False) -> tuple[Column, ...]:
    """Return the columns of a bar whose beats are all counted places.

    ``tied_on`` says that its last note sounds on into the next bar.
    """
    places = bar.places or tuple(
        Place(beat.start, Kind.SILENT) for beat in bar.metre.beats if beat.start < bar.ends
    )
    counts = _counts(bar.metre, places)
    spans = _spans(bar, places, tied_on=tied_on, british=british)
    labels = _labels(bar.metre, spans)
    widths = _widths(counts, labels)
    beats = {beat.start for beat in bar.metre.beats}
    ranks = {span.first: 1 + (span.start in beats) for span in spans}
    return tuple(
        Column(BRACKETS[place.kind][0], count, labels.get(index, ""), ranks.get(index, 0), width)
        for index, (place, count, width) in enumerate(zip(places, counts, widths, strict=True))
    )


def _counts(metre: Metre, places: tuple[Place, ...]) -> list[str]:
    """Return each place's count without its opening bracket: "2", "&", "4&" where 4 is absent."""
    here = {place.at for place in places}
    found = []
    for place in places:
        number = beat_at(metre, place.at)
        beat = metre.beats[number]
        share = (place.at - beat.start) / beat.length
        name = inside_beat(beat, share)
        if beat.compound and share in EIGHTHS_BEFORE:
            before = beat.start + EIGHTHS_BEFORE[share] * beat.length
            name = name.removeprefix("la").removeprefix("li") if before in here else name
        alone = beat.start not in here or name.startswith("+")
        name = f"{number + 1}{name}" if alone or not name else name
        found.append(name + BRACKETS[place.kind][1] + ">" * place.accent)
    return found


def _spans(
    bar: Bar, places: tuple[Place, ...], *, tied_on: bool, british: bool
) -> tuple[_Span, ...]:
    turns = [
        index
        for index, place in enumerate(places)
        if index == 0
        or place.kind is Kind.PLAYED
        or (place.kind is Kind.SILENT and places[index - 1].kind is not Kind.SILENT)
    ]
    stops = [*(places[index].at for index in turns[1:]), bar.ends]
    marks: Marks = frozenset({*stops, *(places[index].at for index in turns)})
    spans = []
    for index, stop in zip(turns, stops, strict=True):
        kind, start = places[index].kind, places[index].at
        name = written_value(bar.metre, start, stop, marks, british=british)
        if kind is Kind.SILENT:
            whole = start == bar.begins and stop == bar.ends and not bar.begins
            name = "rest" if whole or TIE in name else f"{name} rest"
        elif kind is Kind.HELD:
            name = TIE + name
        if tied_on and stop == bar.ends and kind is not Kind.SILENT:
            name += TIE
        spans.append(_Span(kind, index, start, stop, name))
    return tuple(spans)


def _labels(metre: Metre, spans: tuple[_Span, ...]) -> dict[int, str]:
    """Return the label over each column that has one; equal notes inside a beat share theirs."""

    def together(span: _Span) -> tuple[int, str, int]:
        beat = metre.beats[beat_at(metre, span.start)]
        alone = span.kind is not Kind.PLAYED or TIE in span.name
        alone = alone or span.stop > beat.start + beat.length
        return beat_at(metre, span.start), span.name, span.first if alone else -1

    labels = {}
    for (_, name, _), same in groupby(spans, key=together):
        members = list(same)
        many = f"{len(members)} {plural(name)}" if len(members) > 1 else name
        labels[members[0].first] = many
    return labels


def _widths(counts: list[str], labels: dict[int, str]) -> list[int]:
    widths = [max(len(count) + GAP, NARROWEST) for count in counts]
    for first, last in pairwise([*sorted(labels), len(counts)]):
        lacking = len(labels[first]) + GAP - sum(widths[first:last])
        share, over = divmod(max(lacking, 0), last - first)
        for index in range(first, last):
            widths[index] += share + (index - first < over)
    return widths
