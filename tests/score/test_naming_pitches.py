"""Sharps or flats: as one would write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.score.pitches import (
    pitch_name,
    pitch_number,
    spelling_of,
    written_flat,
)


@pytest.mark.parametrize(
    ("notes", "flat"),
    [
        (("F4", "A4", "Bb4", "C5"), True),
        (("Eb4", "G4", "Bb4", "Ab4"), True),
        (("D5", "F#5", "A5", "C#5"), False),
        (("C4", "E4", "G4"), False),
        ((), False),
    ],
)
def test_a_key_with_flats_is_written_in_flats(notes: tuple[str, ...], flat: bool) -> None:  # noqa: FBT001
    """Nobody in F major reads an A sharp."""
    numbers = [pitch_number(name) for name in notes]
    assert written_flat(numbers) is flat
    assert [pitch_name(number, flat=flat) for number in numbers] == list(notes)


@given(st.integers(0, 127), st.booleans())
def test_either_name_is_the_same_note(number: int, flat: bool) -> None:  # noqa: FBT001
    """B flat and A sharp are one key."""
    assert pitch_number(pitch_name(number, flat=flat)) == number


@pytest.mark.parametrize(
    "notes",
    [
        ("G4", "A4", "Bb4", "C5", "D5", "Eb5", "F#5", "G5"),
        ("A4", "B4", "C5", "D5", "E5", "F5", "G#5"),
        ("E4", "F#4", "G#4", "A4", "B4", "C#5", "D#5"),
        ("Db4", "Eb4", "F4", "Gb4", "Ab4", "Bb4", "C5"),
    ],
)
def test_a_minor_key_has_its_leading_note_beside_its_flats(notes: tuple[str, ...]) -> None:
    """Who plays in G minor reads an F sharp, not a G flat, in the bar with B flat."""
    numbers = [pitch_number(name) for name in notes]
    spelling = spelling_of(numbers)
    read = [spelling.spelt(number) for number in numbers]
    assert [
        letter + {-1: "b", 0: "", 1: "#"}[alter] + str(octave) for letter, octave, alter in read
    ] == list(notes)


@given(st.lists(st.integers(24, 100), min_size=1), st.integers(-14, 14))
def test_however_it_is_spelt_it_sounds_the_same(numbers: list[int], up: int) -> None:
    """A clarinet's part is written two semitones up, and no letter moves a note."""
    spelling = spelling_of(numbers, up=up)
    for number in numbers:
        letter, octave, alter = spelling.spelt(number)
        assert abs(alter) <= 1
        assert pitch_number(f"{letter}{octave}") + alter - up == number
