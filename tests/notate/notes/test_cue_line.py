"""The line of a piano part that one listens for."""

from dataclasses import replace
from fractions import Fraction

import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.notes.cue_line import ALL, LOWER, TOP, line_of, notes_before
from rhythmtrain.notate.notes.written_part import WrittenBar, WrittenNote, WrittenPart
from rhythmtrain.score.countline.countline import read_rhythm
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.units import Bpm

TWO = Metre.parse("2/4")


def written(*notes: tuple[str, str, int, int]) -> list[WrittenNote]:
    """Return notes: onset, length, pitch, staff."""
    return [WrittenNote(Fraction(a), Fraction(b), pitch, staff) for a, b, pitch, staff in notes]


HANDS = written(
    ("0", "2", 72, 1),
    ("0", "1", 64, 1),
    ("0", "1", 48, 2),
    ("1", "1", 67, 1),
    ("1", "1", 36, 2),
    ("2", "1/2", 69, 1),
)


@pytest.mark.parametrize(
    ("voice", "line"),
    [
        (TOP, [("0", "2", (72,)), ("2", "1/2", (69,))]),
        (LOWER, [("0", "1", (48,)), ("1", "1", (36,))]),
        (ALL, [("0", "2", (48, 64, 72)), ("1", "1", (36, 67)), ("2", "1/2", (69,))]),
    ],
)
def test_a_line_is_what_the_ear_follows(
    voice: str, line: list[tuple[str, str, tuple[int, ...]]]
) -> None:
    """An inner voice under a held note is not heard as the tune."""
    expected = tuple((Fraction(at), Fraction(length), pitches) for at, length, pitches in line)
    assert line_of(HANDS, voice) == expected


def test_a_hand_that_plays_alone_is_the_line() -> None:
    """Where the right hand rests one listens to the left."""
    left = [note for note in HANDS if note.staff == 2]
    assert line_of(left) == line_of(HANDS, LOWER)


def part(metre: Metre, *notes: WrittenNote) -> WrittenPart:
    """Return a part of the bars 3, 4 and 5."""
    bars = (WrittenBar(3 + i, i * metre.length, metre, metre.length) for i in range(3))
    return WrittenPart(tuple(notes), tuple(bars))


def passage() -> Passage:
    """Return bars 4 and 5: a rest, and a note on 2."""
    bars = read_rhythm("(1 2) | (1) 2", TWO).bars
    return Passage("", Bpm(60), tuple(replace(bar, number=bar.number + 3) for bar in bars))


def test_notes_before_the_passage_are_laid_before_it() -> None:
    """An excerpt that begins with the entry still has its cue."""
    found = notes_before(
        part(TWO, *written(("1", "1", 60, 1), ("7/3", "1", 62, 1), ("3.26", "1", 64, 1))),
        passage(),
        5,
        Fraction(-2),
        Fraction(3),
    )
    assert [note.at for note in found] == [Fraction(-1), Fraction(1, 3), Fraction(5, 4)]


def test_notes_of_another_piece_are_refused() -> None:
    """A slip of the pen must not give a wrong cue."""
    note = written(("0", "1", 60, 1))
    with pytest.raises(RequestError, match="in 2/4 in the passage and in 3/4 in the notes"):
        notes_before(part(Metre.parse("3/4"), *note), passage(), 5, Fraction(0), Fraction(2))
    other = replace(part(TWO, *note), bars=part(TWO, *note).bars[:2])
    with pytest.raises(RequestError, match="bars 3 to 4, not bar 5"):
        notes_before(other, passage(), 5, Fraction(0), Fraction(2))
