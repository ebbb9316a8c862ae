"""What one listens for before coming in, in words."""

from fractions import Fraction

import pytest

from rhythmtrain.report.cue_words import cue_words, lead_in_words
from rhythmtrain.score.passage import Note

FOUR = Fraction(4)


def cue(*notes: tuple[str, str, int]) -> list[Note]:
    """Return notes at places for lengths with pitches; pitch 0 is none."""
    return [
        Note(0, 1, "1", Fraction(at), Fraction(length), pitches=(pitch,) if pitch else ())
        for at, length, pitch in notes
    ]


@pytest.mark.parametrize(
    ("notes", "words"),
    [
        (
            cue(("5/2", "1/2", 72), ("3", "1/2", 71), ("7/2", "1/2", 69)),
            "three eighth notes going down, then you",
        ),
        (cue(("2", "1", 60), ("3", "1", 64)), "two quarter notes going up, then you"),
        (cue(("2", "1", 60), ("3", "1", 60)), "two quarter notes on one pitch, then you"),
        (cue(("2", "1", 0), ("3", "1", 0)), "two quarter notes, then you"),
        (
            cue(("0", "3/2", 60), ("3/2", "1/2", 64), ("2", "2", 67)),
            "one eighth note, one half note, then you",
        ),
        (cue(("0", "9", 60)), "one whole note, then you"),
        (cue(("0", "5/4", 60)), "one note, then you"),
        (cue(("-9", "1", 60)), ""),
        ([], ""),
    ],
)
def test_the_last_figure_is_named(notes: list[Note], words: str) -> None:
    """A figure is heard where a bar number is not."""
    assert lead_in_words(notes, Fraction(4), FOUR) == words


def test_either_usage_of_note_values() -> None:
    """Crotchet and quaver, where those are learnt."""
    row = cue(("3", "1/2", 64), ("7/2", "1/2", 60))
    assert lead_in_words(row, FOUR, FOUR, british=True) == "two quavers going down, then you"


@pytest.mark.parametrize(
    ("notes", "words"),
    [
        (
            cue(("5/2", "1/2", 72), ("3", "1/2", 71), ("7/2", "1/2", 69)),
            "three eighth notes going down; you come in on the and of 2",
        ),
        (
            cue(("0", "1", 60), ("1", "1", 62)),
            "two quarter notes going up, then two beats of silence; you come in on the and of 2",
        ),
        (
            cue(("-4", "1", 60)),
            "one quarter note, then seven beats of silence; you come in on the and of 2",
        ),
        ([], "nothing is heard before: count the rest; you come in on the and of 2"),
    ],
)
def test_the_count_of_the_entry_and_silence_before_it_are_told(
    notes: list[Note], words: str
) -> None:
    """Who waits for a figure must know what to do when it is over."""
    told = cue_words(notes, FOUR, place="the and of 2", beat=Fraction(1))
    assert told == words
