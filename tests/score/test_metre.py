"""Metres: what a bar holds and which note value gets one count."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import DrillError
from rhythmtrain.score.metre import LOWER_NUMBERS, NOTE_VALUES, Metre, value_name

# Metre, way of counting, the length of each beat in quarters, and of what the tempo counts.
BEATS = [
    ("2/4", None, ["1", "1"], "1"),
    ("3/4", None, ["1", "1", "1"], "1"),
    ("2/2", None, ["2", "2"], "2"),
    ("6/8", None, ["3/2", "3/2"], "3/2"),
    ("9/8", None, ["3/2"] * 3, "3/2"),
    ("12/8", None, ["3/2"] * 4, "3/2"),
    ("3/8", None, ["1/2"] * 3, "1/2"),
    ("6/4", None, ["1"] * 6, "1"),
    ("6/8", "eighth", ["1/2"] * 6, "1/2"),
    ("6/8", "quaver", ["1/2"] * 6, "1/2"),
    ("3/8", "dotted quarter", ["3/2"], "3/2"),
    ("4/4", "half", ["2", "2"], "2"),
    ("4/4", "minim", ["2", "2"], "2"),
    ("3+2/8", None, ["1/2"] * 5, "1/2"),
    ("3+2/8", "group", ["3/2", "1"], "1/2"),
    ("2+2+3/8", "group", ["1", "1", "3/2"], "1/2"),
    ("2+2/8", "group", ["1", "1"], "1"),
    ("3+3/8", None, ["1/2"] * 6, "1/2"),
]


@pytest.mark.parametrize(("text", "beat", "lengths", "tempo_value"), BEATS)
def test_a_bar_has_these_beats(
    text: str, beat: str | None, lengths: list[str], tempo_value: str
) -> None:
    """What gets one count is what a musician would count, and what a tempo counts."""
    metre = Metre.parse(text, beat=beat)
    assert [b.length for b in metre.beats] == [Fraction(length) for length in lengths]
    assert metre.tempo_value == Fraction(tempo_value)
    assert str(metre) == text


@settings(deadline=None)
@given(
    upper=st.integers(1, 64),
    lower=st.sampled_from(LOWER_NUMBERS),
    beat=st.sampled_from([None, "group", *NOTE_VALUES]),
)
def test_beats_fill_the_bar_exactly(upper: int, lower: int, beat: str | None) -> None:
    """No count may be lost or left over, in whatever way one counts."""
    metre = Metre((upper,), lower).with_beat(beat)
    assert metre.beats[0].start == 0
    assert sum((b.length for b in metre.beats), Fraction(0)) == metre.length
    assert all(
        a.start + a.length == b.start for a, b in zip(metre.beats, metre.beats[1:], strict=False)
    )


@pytest.mark.parametrize(
    ("text", "beat", "words"),
    [
        ("0/4", None, "metre 0/4: the upper number must be 1 to 64"),
        ("65/4", None, "the upper number must be 1 to 64"),
        ("3+0/4", None, "the upper number must be 1 to 64"),
        ("4/0", None, "the lower number must be one of 1, 2, 4, 8, 16, 32"),
        ("4/3", None, "the lower number must be one of"),
        ("4", None, "'4' is not a metre: write it like 2/4, 6/8 or 3"),
        ("", None, "is not a metre"),
        ("4/4/4", None, "is not a metre"),
        ("٤/٤", None, "is not a metre"),
        ("4/4", "quater", "there is no beat 'quater'; did you mean 'quarter'"),
        ("4/4", "xyz", r"there is no beat 'xyz' \(say quarter"),
        ("2/4", "dotted quarter", "a bar of 2/4 cannot be counted in dotted quarter beats"),
    ],
)
def test_what_is_no_metre_is_refused(text: str, beat: str | None, words: str) -> None:
    """A metre decides where every count lies, so a wrong one stops everything at once."""
    with pytest.raises(DrillError, match=words):
        Metre.parse(text, beat=beat)


def test_a_way_of_counting_that_does_not_fit_gives_way_to_the_ordinary_one() -> None:
    """A drill in dotted quarters may pass through a bar of 2/4."""
    assert Metre.parse("2/4").with_beat("dotted quarter") == Metre.parse("2/4")
    assert Metre.parse("6/8").with_beat("eighth") == Metre.parse("6/8", beat="eighth")


def test_note_values_are_named_in_either_usage() -> None:
    """Quarter or crotchet, as the player learned it."""
    assert value_name(Fraction(3, 2)) == "dotted quarter"
    assert value_name(Fraction(3, 2), british=True) == "dotted crotchet"
    assert value_name(Fraction(1, 4), british=True) == "semiquaver"
    assert value_name(Fraction(5, 2)) is None
