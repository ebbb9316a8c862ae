"""Pitches by name, and the tune laid on a rhythm."""

import pytest

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.drill.tune import with_tune, write_tune
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import notes_of
from rhythmtrain.score.pitches import pitch_name, pitch_number


@pytest.mark.parametrize(
    ("name", "number"),
    [("C4", 60), ("A4", 69), ("c4", 60), ("C-1", 0), ("G9", 127), ("F#5", 78), ("Bb3", 58),
     ("Cb4", 59), ("B#3", 60), ("C##4", 62), ("Dbb4", 60)],
)  # fmt: skip
def test_a_pitch_has_its_midi_number(name: str, number: int) -> None:
    """Middle C is C4, and A4 is the tuning note (MIDI note numbers 60 and 69)."""
    assert pitch_number(name) == number


@pytest.mark.parametrize(
    ("name", "words"),
    [("H4", "is not a pitch"), ("C", "is not a pitch"), ("C10", "is not a pitch"),
     ("C#b4", "is not a pitch"), ("", "is not a pitch"), ("G#9", "too low or too high"),
     ("Cb-1", "too low or too high")],
)  # fmt: skip
def test_what_is_no_pitch_is_named(name: str, words: str) -> None:
    """A slip in a tune is told with the name that was typed."""
    with pytest.raises(DrillError, match=words):
        pitch_number(name)


def test_every_pitch_has_a_name_that_reads_back() -> None:
    """A tune that was written sounds the same."""
    assert [pitch_number(pitch_name(number)) for number in range(128)] == list(range(128))


def test_a_tune_with_bar_lines_skips_bars_without_notes() -> None:
    """Bars of rest need no pitches and no bar line of their own."""
    bars = read_bars("1 2 | rest 4 | [1 2] | 1 2".replace("[1 2]", "(1 2)"), Metre.parse("2/4"))
    tuned = with_tune(bars, "| C5 D5 | E5 - |")
    assert [note.pitches for note in notes_of(tuned)] == [(72,), (74,), (76,), ()]
    assert write_tune(tuned) == "C5 D5 | E5 -"
    assert write_tune(bars) is None
