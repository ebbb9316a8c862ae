"""Bars that are cut short find a spelling in which every note keeps its place and its second."""

from dataclasses import replace
from fractions import Fraction

import pytest

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.short_bars import cut_short, in_sayable_bars, put_back
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.score.drill.writer import write_drill
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Passage, notes_of
from rhythmtrain.timing.timeline import Practice, lay_out
from rhythmtrain.units import Bpm, Seconds


def passage(rhythm: str, metre: str, lengths: dict[int, str]) -> Passage:
    """Return a passage some of whose bars, by their index, end after so many quarters."""
    bars = list(read_bars(rhythm, Metre.parse(metre)))
    for index, ends in lengths.items():
        kept = tuple(each for each in bars[index].places if each.at < Fraction(ends))
        bars[index] = replace(bars[index], places=kept, ends=Fraction(ends))
    return Passage("Weir", Bpm(60), tuple(bars))


def told(each: Passage) -> tuple[list[Fraction], list[tuple[Fraction, Seconds]]]:
    """Return the notes' lengths, and their places and seconds as practised twice."""
    timeline = lay_out(each, Practice(repeats=2))
    played = [(note.at, timeline.track_seconds(note.at)) for note in timeline.notes]
    return [note.length for note in notes_of(each.bars)], played


@pytest.mark.parametrize(
    ("rhythm", "metre", "lengths", "named"),
    [
        ("4 | 1 2 & 3 | 1 2 3 [4]", "4/4", {2: "3"}, ["3/4"]),
        ("2li | 1 la li 2 | 1 li [2] la", "6/8", {2: "5/2"}, ["5/8"]),
        ("1 2 | 1 & 2 | 1 2", "2/4", {1: "3/2"}, ["3/8"]),
        ("4 |: 1 2 3 4 | first time 1 2 3 :| second time 1 [2] 3 4", "4/4", {3: "3"}, ["3/4"]),
    ],
)
def test_a_short_bar_is_written_in_a_metre_of_its_own(
    rhythm: str, metre: str, lengths: dict[int, str], named: list[str]
) -> None:
    """Every tune with an upbeat ends so; it could neither be written out nor judged again."""
    meant = passage(rhythm, metre, lengths)
    again = read_drill(write_drill(meant), name="again.toml").passage
    assert again is not None
    assert [(note.at, note.length) for note in notes_of(again.bars)] == [
        (note.at, note.length) for note in notes_of(meant.bars)
    ]
    cuts = cut_short(meant, in_sayable_bars(meant))
    assert [str(again.bars[cut.index].metre) for cut in cuts] == named
    assert told(put_back(again, cuts)) == told(meant)


def test_what_a_count_line_can_say_stays_as_it_is() -> None:
    """The bar before a repeat gives its rest to the upbeat: nothing is to be changed there."""
    meant = Passage("Weir", Bpm(60), read_bars("2 |: 1 & 2 | 1 :|", Metre.parse("2/4")))
    assert in_sayable_bars(meant) is meant


def test_bars_counted_in_two_ways_are_refused() -> None:
    """No metre of its own helps there."""
    ways = [Metre.parse("6/8"), Metre.parse("6/8", beat="eighth")]
    bars: tuple[Bar, ...] = (*read_bars("1 2", ways[0]), *read_bars("1 2 3 4 5 6", ways[1]))
    with pytest.raises(DrillError, match="cannot be written as a count line"):
        in_sayable_bars(Passage("Weir", Bpm(60), bars))
