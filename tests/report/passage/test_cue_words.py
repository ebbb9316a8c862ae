"""What one listens for before coming in, in words."""

from fractions import Fraction

import pytest

from rhythmtrain.report.passage.cue_words import cue_words, lead_in_words
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
            "one eighth note, one half note higher up, then you",
        ),
        (cue(("2", "1", 60), ("3", "1", 67)), "two quarter notes leaping up, then you"),
        (
            cue(("5/2", "1/2", 60), ("3", "1/2", 64), ("7/2", "1/2", 62)),
            "three eighth notes going up and down again, then you",
        ),
        (
            cue(("2", "1/3", 64), ("7/3", "1/3", 62), ("8/3", "1/3", 60), ("3", "1", 60)),
            "three triplet eighth notes going down, one quarter note on the same pitch, then you",
        ),
        (
            cue(("2", "1", 60), ("3", "2", 55)),
            "one quarter note, one half note lower down, then you before it ends",
        ),
        (cue(("0", "9", 60)), "one long note, then you before it ends"),
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
        (
            cue(("3/2", "1", 0), ("5/2", "1", 0), ("7/2", "1", 0)),
            "three quarter notes; you come in on the and of 2, half a beat after the last note begins",
        ),
        (
            cue(("2", "1/2", 60), ("5/2", "1/2", 62), ("3", "4", 67)),
            (
                "two eighth notes going up, then one whole note higher up; you come in on the and of 2, "
                "one beat after the last note begins"
            ),
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


@pytest.mark.parametrize(
    ("notes", "words"),
    [
        (
            cue(("0", "1", 0), ("1", "1", 0), ("2", "2", 0)),
            "three quarter notes; you come in on beat 1, two beats after the last note begins",
        ),
        (cue(("2", "1", 0), ("3", "1", 0)), "two quarter notes; you come in on beat 1"),
        (cue(("2", "2", 0)), "one half note; you come in on beat 1"),
    ],
)
def test_of_what_is_only_heard_no_end_is_claimed(notes: list[Note], words: str) -> None:
    """A recording tells when a note is struck; how long it is held nobody knows."""
    assert cue_words(notes, FOUR, place="beat 1", beat=Fraction(1), ends_known=False) == words


def test_in_compound_time_parts_of_a_beat_are_called_by_their_notes() -> None:
    """A third of a beat is an eighth note, and not 0.3 beats."""
    beat = Fraction(3, 2)
    row = cue(("3/2", "3/2", 0), ("3", "3/2", 0))
    told = cue_words(row, Fraction(7, 2), place="the la of 2", beat=beat)
    assert told.endswith("the la of 2, one eighth note after the last note begins")
    told = cue_words(row, Fraction(13, 2), place="the la of 2", beat=beat)
    assert "then more than one beat of silence" in told
