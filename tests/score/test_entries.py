"""Entries: the notes one has to come in on, and how long one rested before."""

from fractions import Fraction

import pytest

from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.cue import read_cue
from rhythmtrain.score.entries import Entry, entries_of
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import EntryMark, Passage
from rhythmtrain.units import Bpm


def _entries(
    text: str, cue: str | None = None, *marks: EntryMark, metre: str = "4/4"
) -> list[tuple[int, str, int, float]]:
    bars = read_bars(text, Metre.parse(metre))
    beside = read_cue(cue, bars).bars if cue else ()
    passage = Passage("x", Bpm(60), bars, beside, marks)
    return [(e.bar, e.count, e.rest_bars, float(e.rest_beats)) for e in entries_of(passage)]


@pytest.mark.parametrize(
    ("text", "entries"),
    [
        ("1 2 3 4 | 1 2 3 4", []),
        ("1 (2 3 4) | 1", []),
        ("1 2 3 (4) | rest 1 | 1", [(3, "1", 1, 5)]),
        ("1 [2 3 4] | rest 8 | (1) & 2", [(10, "1&", 8, 32.5)]),
        ("rest 2 | 1", [(3, "1", 2, 8)]),
        ("rest 1 | (1 2 3) 4 | 1", [(2, "4", 1, 7)]),
        ("(1) & 2", []),
        ("1 | [1 2 3 4] | 1", []),
        ("1 (2 3 4) | 1 (2) | (1 2) 3", [(3, "3", 0, 5)]),
        ("4 | rest 3 | 1 2 | rest 1 | (1) 2", [(4, "1", 3, 12), (6, "2", 1, 5)]),
    ],
)
def test_a_note_after_a_rest_of_a_bar_or_more_is_an_entry(
    text: str, entries: list[tuple[int, str, int, float]]
) -> None:
    """Where counting rests begins to matter; whole bars and beats of silence are told."""
    assert _entries(text) == entries


def test_a_shorter_rest_in_which_the_cue_plays_is_an_entry_too() -> None:
    """Two beats of the piano alone are enough to come in after."""
    text = "1 2 (3 4) | 1 2 3 4"
    assert _entries(text) == []
    assert _entries(text, "rest 1 | 1") == []
    assert _entries(text, "(1 2) 3 4 | 1") == [(2, "1", 0, 2)]
    assert _entries("1 2 3 (4) | 1", "(1 2 3) 4 | 1") == [(2, "1", 0, 1)]
    assert _entries("1 2 3 4 (&) | 1", "(1 2 3 4) & | 1") == []


def test_beats_of_silence_are_counted_in_the_metre_where_they_lie() -> None:
    """A bar of 6/8 rests two beats."""
    entries = _entries("1 2 | metre 6/8 rest 2 | metre 2/4 1 2", metre="2/4")
    assert entries == [(4, "1", 2, 4)]


def test_an_entry_may_be_asked_for_anywhere() -> None:
    """A teacher marks the place where it always goes wrong, and which word to say before it."""
    mark = EntryMark(1, "3", Fraction(2), "breathe")
    bars = read_bars("1 2 3 4", Metre.parse("4/4"))
    (entry,) = entries_of(Passage("x", Bpm(60), bars, marks=(mark,)))
    assert entry == Entry(2, 1, "3", Fraction(0), 0, Fraction(0), Fraction(2), "breathe")


def test_the_index_of_an_entry_is_that_of_its_note() -> None:
    """Checking looks the note up by it."""
    bars = read_bars("1 2 | rest 1 | 1 2", Metre.parse("2/4"))
    (entry,) = entries_of(Passage("x", Bpm(60), bars))
    assert entry.note == 2
