"""The passage: notes from counted places, and what a passage cannot be."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given

from rhythmtrain.errors import DrillError, RequestError
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Passage, Place, bar_starts, notes_of, numbered
from rhythmtrain.units import Bpm
from tests.simulate.written_bars import LAW, written_bars

TWO = Metre.parse("2/4")
QUARTER = Fraction(1)


def _bar(*spots: int, begins: int = 0, ends: int = 2) -> Bar:
    places = tuple(Place(Fraction(spot), Kind.PLAYED) for spot in spots)
    return Bar(1, TWO, places, Fraction(begins), Fraction(ends))


def test_a_note_lasts_until_the_next_note_or_silence_also_over_the_bar_line() -> None:
    """Lengths are what the sheet prints and the tune sounds."""
    notes = notes_of(read_bars("1 [2] | [1] (2) | 2 | rest 1 | 1", TWO))
    assert [note.at for note in notes] == [0, 5, 8]
    assert [note.length for note in notes] == [3, 1, 2]


def test_a_bar_of_rest_ends_the_note_before_it() -> None:
    """A note does not ring through a rest."""
    (note,) = notes_of(read_bars("2 | rest 2", Metre.parse("4/4"))[:2])
    assert note.at == -3
    assert note.length == 3


@LAW
@given(bars=written_bars())
def test_notes_go_forward_and_do_not_overlap(bars: tuple[Bar, ...]) -> None:
    """One player plays one note after another."""
    notes = notes_of(bars)
    assert all(note.length > 0 for note in notes)
    for before, after in pairwise(notes):
        assert before.at + before.length <= after.at
    starts = bar_starts(bars)
    played = sum(place.kind is Kind.PLAYED for bar in bars for place in bar.places)
    assert len(notes) == played
    assert all(starts[note.index] <= note.at for note in notes)


@pytest.mark.parametrize(
    ("places", "begins", "ends", "words"),
    [
        ((1, 0), 0, 2, "its counts are not in order"),
        ((0, 0), 0, 2, "its counts are not in order"),
        ((2,), 0, 2, "a count lies outside the bar"),
        ((0,), 1, 2, "a count lies outside the bar"),
        ((), 2, 2, "would begin after its end"),
        ((), 0, 3, "would begin after its end"),
    ],
)
def test_a_bar_whose_counts_do_not_fit_cannot_be_made(
    places: tuple[int, ...], begins: int, ends: int, words: str
) -> None:
    """No later code has to check again."""
    with pytest.raises(DrillError, match=words):
        _bar(*places, begins=begins, ends=ends)


def test_a_passage_needs_bars_and_a_cue_of_the_same_length() -> None:
    """A cue out of step would teach a wrong entry."""
    bars = (_bar(0), _bar(0))
    with pytest.raises(DrillError, match="the passage has no bars"):
        Passage("x", Bpm(60), ())
    with pytest.raises(DrillError, match="the cue has 1 bars and the rhythm 2"):
        Passage("x", Bpm(60), bars, cue=bars[:1])
    with pytest.raises(DrillError, match="has 10000 bars; at most 9999 are read"):
        Passage("x", Bpm(60), bars * 5000)
    assert Passage("x", Bpm(60), bars, cue=bars).metre == TWO


def test_a_bar_is_found_by_its_printed_number() -> None:
    """Bar 17 is where the part says 17."""
    bars = tuple(replace(_bar(0), number=number) for number in (17, 18))
    passage = Passage("x", Bpm(60), bars)
    assert numbered(passage, 18) == 1
    with pytest.raises(RequestError, match="there is no bar 1: the passage has bars 17 to 18"):
        numbered(passage, 1)
