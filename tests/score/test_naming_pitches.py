"""Sharps or flats: as one would write them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.score.pitches import pitch_name, pitch_number, written_flat


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
