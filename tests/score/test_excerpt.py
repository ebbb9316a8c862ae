"""A few bars of a passage, as a passage of their own."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, EntryMark, Kind, Passage, TempoMark, notes_of
from rhythmtrain.score.tempo import speeds
from rhythmtrain.units import Bpm
from tests.simulate.written_bars import LAW, written_bars


def _passage(text: str, metre: str = "2/4") -> Passage:
    return Passage("x", Bpm(60), read_bars(text, Metre.parse(metre)))


def _text(text: str, first: int, last: int, metre: str = "2/4") -> str:
    return write_bars(excerpt(_passage(text, metre), first, last).bars)


@pytest.mark.parametrize(
    ("text", "first", "last", "expected"),
    [
        ("1 2 | 1 & 2 | 1 2 &", 2, 2, "1 & 2"),
        ("1 2 | [1] 2 | 1 2", 2, 3, "(1) 2 | 1 2"),
        ("1 2 | [1 2] | [1] 2", 2, 3, "(1 2) | (1) 2"),
        ("1 2 | metre 3/4 1 2 3 | 1 2 3", 3, 3, "1 2 3"),
        ("1 2 :| 1 2", 1, 1, "1 2 :|"),
        ("1 2 | 1 & 2 :| 1 2", 1, 1, "1 2"),
        ("1 2 | 1 & 2 :| 1 2", 2, 3, "1 & 2 | 1 2"),
        ("1 2 :|: 1 & 2 | 1 2 :|", 1, 2, "1 2 :| 1 & 2"),
        ("1 2 | first time 1 & 2 :| second time 1 2 &", 1, 3,
         "1 2 | first time 1 & 2 :| second time 1 2 &"),
        ("1 2 | first time 1 & 2 :| second time 1 2 &", 1, 2, "1 2 | 1 & 2"),
        ("1 2 | first time 1 & 2 :| second time 1 2 &", 3, 3, "1 2 &"),
        ("|: 2 | 1 :|: 2 | 1 :|", 0, 1, "|: 2 | 1 :| 2"),
        ("2 | 1 2", 0, 1, "2 | 1 2"),
    ],
)  # fmt: skip
def test_bars_are_taken_out_as_one_would_copy_them(
    text: str, first: int, last: int, expected: str
) -> None:
    """A repeat stays only where it is whole, and nobody holds a note that was never begun."""
    assert _text(text, first, last) == expected


def test_cue_and_entries_come_along() -> None:
    """Practising bars 2 to 3 keeps the piano beside them and the entry asked for."""
    bars = read_bars("1 2 | 1 2 | 1 2", Metre.parse("2/4"))
    marks = (EntryMark(1, "1"), EntryMark(3, "2"))
    part = excerpt(Passage("x", Bpm(60), bars, cue=bars, marks=marks), 2, 3)
    assert [bar.number for bar in part.cue] == [2, 3]
    assert part.marks == (EntryMark(3, "2"),)


def test_the_tempo_in_force_is_taken_along() -> None:
    """Bar 3 on its own goes as fast as bar 3 in the piece."""
    part = excerpt(_passage("1 2 | tempo 90 1 2 | 1 2"), 3, 3)
    assert part.tempo == pytest.approx(90)
    assert part.bars[0].tempo is None


def test_a_gradual_tempo_goes_on_from_where_the_excerpt_begins() -> None:
    """Two bars out of the middle of a slowing-down slow down as they do in the piece."""
    passage = _passage("1 2 | tempo 96 to 72 over 4 bars 1 2 | 1 2 | 1 2 | 1 2 | 1 2")
    whole = speeds(passage)
    for first in range(1, 7):
        part = excerpt(passage, first, 6)
        for found, wanted in zip(speeds(part), whole[first - 1 :], strict=True):
            assert found == pytest.approx(wanted)
    assert excerpt(passage, 4, 6).bars[0].tempo == TempoMark(Bpm(84.0), Bpm(72.0), 2)
    assert excerpt(passage, 6, 6).bars[0].tempo is None


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [(2, 1, "bars 2-1 run backwards"), (1, 9, "there is no bar 9"), (0, 1, "there is no bar 0")],
)
def test_bars_that_do_not_exist_are_refused(first: int, last: int, words: str) -> None:
    """A number typed wrongly is told with the bars there are."""
    with pytest.raises(RequestError, match=words):
        excerpt(_passage("1 2 | 1 2"), first, last)


@LAW
@given(bars=written_bars(), data=st.data())
def test_an_excerpt_has_the_notes_that_begin_in_its_bars(
    bars: tuple[Bar, ...], data: st.DataObject
) -> None:
    """Nothing is added and nothing is lost."""
    passage = Passage("x", Bpm(60), bars)
    numbers = [bar.number for bar in bars]
    first = data.draw(st.sampled_from(numbers))
    last = data.draw(st.sampled_from([number for number in numbers if number >= first]))
    part = excerpt(passage, first, last)
    assert [bar.number for bar in part.bars] == [n for n in numbers if first <= n <= last]
    asked = [note.count for note in notes_of(bars) if first <= note.bar <= last]
    assert [note.count for note in notes_of(part.bars)] == asked
    kinds = [place.kind for bar in part.bars for place in bar.places]
    assert Kind.HELD not in kinds[:1]


def test_an_excerpt_of_everything_is_the_passage() -> None:
    """Asking for all bars changes nothing."""
    passage = _passage("1 2 | first time 1 2 :| second time 1 2 | tempo 90 1 2")
    assert excerpt(passage, 1, 4) == replace(passage, tempo=Bpm(60.0))
