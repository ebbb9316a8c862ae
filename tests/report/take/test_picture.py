"""The picture of a take: every bar in its row, every mark at its place."""

import re
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree as ET

import pytest

from rhythmtrain.assess.findings import Extra, Verdict
from rhythmtrain.report.take.picture import timing_picture
from rhythmtrain.report.take.picture_rows import (
    MARKS,
    ONE_TOO_MANY,
    came_words,
    label_of,
    rest_words,
    rows_of,
    spots_of,
)
from rhythmtrain.report.take.picture_sheet import edges, labels, laid_out, spot_at
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Place
from tests.simulate.heard import START_S, Amiss, heard_of, passage_of

RAG = passage_of("1 e [&] a 2 & | (1) & a 2 | 1 & [2] & | [1] (2)")
ENTRY = passage_of("1 & 2 | rest 4 | (1) & 2 & | 1 2")
SVG = "{http://www.w3.org/2000/svg}"


def test_bars_are_rows_and_bars_of_rest_one_row() -> None:
    """A held bar is not a rest."""
    rows = rows_of(ENTRY.bars)
    assert [(row.name, row.index, row.rest, row.bars) for row in rows] == [
        ("1", 0, False, 1), ("2-5", 1, True, 4), ("6", 5, False, 1), ("7", 6, False, 1),
    ]  # fmt: skip
    assert rest_words(rows[1]) == "four bars of rest"
    assert [row.rest for row in rows_of(RAG.bars)] == [False] * 4
    single = rows_of(passage_of("1 2 | rest 1 | 1 2").bars)
    assert (single[1].name, rest_words(single[1])) == ("2", "rest")
    assert rows_of(passage_of("2 & | 1 2").bars)[0].name == ""


@pytest.mark.parametrize(
    ("rhythm", "metre", "said"),
    [
        ("1 e [&] a 2 &", "2/4", ["1", "e", "[&]", "a", "2", "&"]),
        ("(1) & a 2", "2/4", ["(1)", "&", "a", "2"]),
        ("1 | 2&", "2/4", ["[1]", "2", "&"]),
        ("1 la ta li 2", "6/8", ["1", "la", "ta", "li", "2"]),
        ("1 2+1/5", "2/4", ["1", "[2]", "+1/5"]),
    ],
)
def test_counts_stand_as_one_says_them_in_a_row(rhythm: str, metre: str, said: list[str]) -> None:
    """The row reads "1 e & a", not "1 1e 1& 1a"."""
    bar = passage_of(rhythm, metre).bars[-1]
    assert [label_of(bar, place) for place in bar.places] == said


def test_a_count_whose_beat_is_not_counted_says_its_number() -> None:
    """Else nobody knows whose "and" it is."""
    off = Place(Fraction(1, 2), Kind.PLAYED)
    bar = Bar(1, Metre.parse("2/4"), (off,), Fraction(0), Fraction(2))
    assert label_of(bar, off) == "1&"


def test_marks_lie_exactly_where_notes_were_heard() -> None:
    """At 60 a quarter is a second: 200 ms late is a fifth of a beat to the right."""
    amiss = Amiss({(1, "2", 1): 0.2, (1, "1e", 1): -0.06}, missed=frozenset({(2, "1&", 1)}))
    heard, timeline = heard_of(RAG, amiss)
    spots = spots_of(heard.findings, timeline)
    assert [spot.at for spot in spots if spot.index == 0] == pytest.approx(
        [0, 0.19, 0.75, 1.2, 1.5]
    )
    assert [spot.mark for spot in spots[:4]] == [
        MARKS[Verdict.IN_TIME], MARKS[Verdict.IN_TIME], MARKS[Verdict.IN_TIME], MARKS[Verdict.LATE],
    ]  # fmt: skip
    missing = next(spot for spot in spots if spot.mark is MARKS[Verdict.MISSED])
    assert (missing.index, missing.at) == (1, 0.5)


def test_what_was_not_checked_has_no_mark() -> None:
    """Nothing is claimed of it."""
    heard, timeline = heard_of(RAG, Amiss(unchecked=frozenset({(1, "1", 1)})))
    assert len(spots_of(heard.findings, timeline)) == len(timeline.notes) - 1


def test_what_was_too_many_stands_where_it_fell() -> None:
    """Also in a bar of rest; what came after the end is left to the words."""
    extras = (Extra(START_S + 1.25, 1, "2"), Extra(START_S + 4.5, 3, "1"), Extra(99.0, 7, "2"))
    heard, timeline = heard_of(ENTRY, Amiss(extras=extras))
    many = [s for s in spots_of(heard.findings, timeline) if s.mark is MARKS[ONE_TOO_MANY]]
    assert [(spot.index, spot.at) for spot in many] == [(0, 1.25), (2, 0.5)]


def test_repeats_have_lines_of_their_own() -> None:
    """The first on top."""
    heard, timeline = heard_of(RAG, repeats=3)
    spots = spots_of(heard.findings, timeline)
    sheet = laid_out(heard, timeline, spots)
    first = [spot_at(sheet, spot) for spot in spots if (spot.index, spot.at) == (0, 0.0)]
    assert [x for x, _ in first] == [sheet.x(0.0)] * 3
    ys = [y for _, y in first]
    assert ys == sorted(set(ys))


@pytest.mark.parametrize("late_s", [-3.0, -0.4, 0.0, 0.4, 9.0])
def test_no_mark_leaves_its_lane(late_s: float) -> None:
    """However far out, it stays in its row, on its side."""
    heard, timeline = heard_of(RAG, Amiss({(2, "2", 1): late_s}))
    spots = spots_of(heard.findings, timeline)
    sheet = laid_out(heard, timeline, spots)
    (spot,) = (s for s in spots if s.index == 1 and s.at == pytest.approx(1 + late_s))
    low, high = edges(sheet, RAG.bars[1])
    x, _ = spot_at(sheet, spot)
    assert low < x < high
    assert (x > sheet.x(1.0)) == (late_s > 0)


def test_marks_in_rest_bars_stand_along_the_row() -> None:
    """The third of four bars lies past the middle."""
    heard, timeline = heard_of(ENTRY, Amiss(extras=(Extra(START_S + 7.0, 4, "2"),)))
    spots = spots_of(heard.findings, timeline)
    sheet = laid_out(heard, timeline, spots)
    x, _ = spot_at(sheet, spots[-1])
    assert x == pytest.approx(sheet.x(2 * (2 + 0.5) / 4))


@pytest.mark.parametrize(
    ("rhythm", "metre"),
    [
        ("1 e & a 2 e [&] a 3 e & a 4 e (&) a", "4/4"),
        ("1 1+1/9 1+2/9 1+3/9 1+4/9 1+5/9 1+6/9 1+7/9 1+8/9 2 3 4 5", "5/4"),
        ("1 la ta li ta 2 ta la li 3 la 4", "12/8"),
        ("1 2 3 4 5", "3+2/8"),
    ],
)
def test_no_two_counts_overlap(rhythm: str, metre: str) -> None:
    """Beats go first where there is no room for all."""
    heard, timeline = heard_of(passage_of(rhythm, metre))
    sheet = laid_out(heard, timeline, spots_of(heard.findings, timeline))
    bar = heard.passage.bars[0]
    shown = sorted(labels(sheet, bar))
    for (left, one, _), (right, two, _) in pairwise(shown):
        assert right - left >= 5.4 * (len(one) + len(two)) / 2
    beats = {sheet.x(float(beat.start)) for beat in bar.metre.beats}
    counted = {sheet.x(float(place.at)) for place in bar.places}
    assert beats & counted <= {x for x, _, _ in shown}


def test_an_entry_at_another_count_is_said_under_its_row() -> None:
    """In words, with the side as a shape; a little late or missing has its mark already."""
    came = {(6, "1&", 2): "one beat early"}
    heard, timeline = heard_of(ENTRY, Amiss(came=came), repeats=2)
    assert came_words(heard, timeline) == {5: ("◀", "came in one beat early the second time")}
    late, timeline = heard_of(ENTRY, Amiss(came={(6, "1&", 1): "two beats late"}))
    assert came_words(late, timeline) == {5: ("▶", "came in two beats late")}
    assert came_words(*heard_of(ENTRY, Amiss({(6, "1&", 1): 0.3}))) == {}
    assert came_words(*heard_of(ENTRY, Amiss(missed=frozenset({(6, "1&", 1)})))) == {}


def _drawn(rhythm: str, metre: str, amiss: Amiss, repeats: int = 1) -> ET.Element:
    heard, timeline = heard_of(passage_of(rhythm, metre), amiss, repeats=repeats)
    return ET.fromstring(timing_picture(heard, timeline))  # noqa: S314  (our own drawing)


@pytest.mark.parametrize(
    ("rhythm", "metre"),
    [
        ("1 e [&] a 2 & | rest 3 | (1) & 2", "2/4"),
        ("2 & |: 1 2 | first time 1 :| second time 1 (2)", "2/4"),
        ("|: 2 & | 1 2 | 1 :| 2 | 1 2", "2/4"),
        ("1 [2] 3 | [1] [2] [3] | metre 3+2/8 1 2 3 4 5", "3/4"),
        ("1 la li 2 li | rest 1", "6/8"),
    ],
)
def test_every_kind_of_bar_is_drawn_as_svg(rhythm: str, metre: str) -> None:
    """Well-formed, asks nothing of another place, letters as letters, a width to keep."""
    svg = _drawn(rhythm, metre, Amiss(), repeats=2)
    assert svg.tag == f"{SVG}svg"
    assert re.fullmatch(r"min-width: \d+pt", svg.attrib["style"])
    said = {text.text for text in svg.iter(f"{SVG}text")}
    assert {"1", "in time or near"} <= said


def test_the_key_names_only_what_is_there() -> None:
    """Nobody who played well reads of what might have gone wrong."""
    svg = _drawn("1 & 2 &", "2/4", Amiss({(1, "2", 1): 0.3}))
    said = {text.text for text in svg.iter(f"{SVG}text")}
    assert {"in time or near", "late"} <= said
    assert not said & {"early", "not heard", "too many"}


def test_a_picture_of_a_take_in_which_nothing_was_checked_is_drawn() -> None:
    """Bars and counts alone."""
    gone = frozenset({(1, "1", 1), (1, "2", 1)})
    svg = _drawn("1 2", "2/4", Amiss(unchecked=gone))
    assert [text.text for text in svg.iter(f"{SVG}text")] == ["1", "1", "2"]


def test_the_same_take_is_drawn_the_same() -> None:
    """A report made again has not changed."""
    heard, timeline = heard_of(RAG)
    assert timing_picture(heard, timeline) == timing_picture(heard, timeline)


def test_shapes_differ_without_colour() -> None:
    """Colour only repeats what the shape says."""
    shapes = {(mark.shape, mark.filled) for mark in MARKS.values()}
    assert len(shapes) == len(MARKS)
    assert MARKS[Verdict.EARLY].shape == "<"
    assert MARKS[Verdict.LATE].shape == ">"
