"""The counting systems against the worked examples of their teachers."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.score.counting import NUMBERS, SYSTEMS, TA_TITI, TAKADIMI, say, word_key
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.counts import count_name
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Note, notes_of

# Takadimi: Hoffman, Pelto & White 1996, examples as in their guide.  Metre, count line, syllables.
TAKADIMI_EXAMPLES = [
    ("2/4", "1 & 2 &", "ta di ta di"),
    ("2/4", "1 e & a 2", "ta ka di mi ta"),
    ("2/4", "1 la li 2", "ta ki da ta"),
    ("2/4", "1 e 2", "ta ka ta"),  # sixteenth, dotted eighth
    ("2/4", "1 a 2", "ta mi ta"),  # dotted eighth, sixteenth
    ("2/4", "1 & a 2", "ta di mi ta"),  # eighth, two sixteenths
    ("2/4", "1 e & 2", "ta ka di ta"),  # two sixteenths, eighth
    ("6/8", "1 li 2", "ta da ta"),  # quarter, eighth
    ("6/8", "1 la 2", "ta ki ta"),  # eighth, quarter
    ("6/8", "1 la li 2", "ta ki da ta"),
    ("6/8", "1 ta la ta li ta 2", "ta va ki di da ma ta"),
]
# Numbers: common practice ("1 e & a", "1 la li").
NUMBER_EXAMPLES = [
    ("2/4", "1 e & a 2 &", "1 e & a 2 &"),
    ("2/4", "1 la li 2", "1 la li 2"),
    ("6/8", "1 ta la ta li ta 2", "1 ta la ta li ta 2"),
]
# Kodály: by duration; syn-co-pa is ti ta ti.
TA_TITI_EXAMPLES = [
    ("4/4", "1 2 & 3 [4]", "ta ti ti ta"),
    ("2/4", "1 e & a 2", "ti ri ti ri ta"),
    ("2/4", "1 & [2] &", "ti ta ti"),
    ("2/4", "1 la li 2", "tri o la ta"),
    ("6/8", "1 la li 2 li", "ti ti ti ta ti"),
]


def notes(metre: str, text: str) -> tuple[Metre, tuple[Note, ...]]:
    """Return the metre and the notes of a one-bar count line."""
    read = Metre.parse(metre)
    return read, notes_of(read_bars(text, read))


def said(metre: str, text: str, system: str) -> str:
    """Return what a player says for the notes of a one-bar count line."""
    read, found = notes(metre, text)
    return " ".join(say(read, note.at, system, length=note.length) or "-" for note in found)


@pytest.mark.parametrize(("metre", "text", "expected"), TAKADIMI_EXAMPLES)
def test_takadimi_goes_by_the_place_in_the_beat(metre: str, text: str, expected: str) -> None:
    """A player taught takadimi hears the syllables of the guide."""
    assert said(metre, text, TAKADIMI) == expected


@pytest.mark.parametrize(("metre", "text", "expected"), NUMBER_EXAMPLES)
def test_numbers_are_the_counts_as_one_says_them(metre: str, text: str, expected: str) -> None:
    """What is spoken is what the count line says."""
    assert said(metre, text, NUMBERS) == expected


@pytest.mark.parametrize(("metre", "text", "expected"), TA_TITI_EXAMPLES)
def test_ta_titi_goes_by_the_note_value(metre: str, text: str, expected: str) -> None:
    """A held syncopation sounds ti ta ti wherever in the bar it lies."""
    assert said(metre, text, TA_TITI) == expected


def test_takadimi_does_not_change_with_ties() -> None:
    """A note tied over a beat is said by where it begins, whatever its length."""
    metre = Metre.parse("4/4")
    lengths = (None, Fraction(1, 2), Fraction(3))
    assert {say(metre, Fraction(3, 2), TAKADIMI, length=length) for length in lengths} == {"di"}


def test_ta_titi_says_nothing_where_no_note_begins() -> None:
    """Rests are counted silently in a system that names durations."""
    assert say(Metre.parse("4/4"), Fraction(2), TA_TITI) is None
    assert word_key(Metre.parse("4/4"), Fraction(2), TA_TITI) is None


def test_word_keys_name_the_system_except_for_numbers() -> None:
    """A voice keeps "ta" of takadimi apart from the sixteenth ``ta`` of a compound beat."""
    metre = Metre.parse("2/4")
    place = Fraction(3, 2)
    assert word_key(metre, place, NUMBERS) == "&"
    assert word_key(metre, Fraction(1), NUMBERS) == "2"
    assert word_key(metre, place, TAKADIMI) == "takadimi:di"
    assert word_key(metre, place, TA_TITI, length=Fraction(1, 2)) == "ta-titi:ti"


def test_places_without_a_syllable_stay_silent() -> None:
    """Nobody says a fifth of a beat."""
    metre = Metre.parse("2/4")
    assert say(metre, Fraction(1, 5), NUMBERS) is None
    assert say(metre, Fraction(1, 5), TAKADIMI) is None
    group = Metre.parse("5/8", beat="group")
    assert say(group, Fraction(1, 2), NUMBERS) is None


def test_an_unknown_system_is_refused_with_the_ones_there_are() -> None:
    """A typing error gets the list."""
    with pytest.raises(RequestError, match="numbers, takadimi, ta-titi"):
        say(Metre.parse("2/4"), Fraction(0), "solfa")


@settings(deadline=None)
@given(
    st.sampled_from(["2/4", "4/4", "6/8", "9/8", "3+2/8"]),
    st.integers(0, 47),
    st.sampled_from(SYSTEMS),
)
def test_the_same_place_in_every_bar_is_said_alike(metre: str, step: int, system: str) -> None:
    """Beats alike are said alike: takadimi and ta ti-ti know no beat numbers."""
    read = Metre.parse(metre)
    beat = read.beats[0]
    inside = beat.length * (step % 12) / 12
    syllables = {
        say(read, other.start + inside, system, length=Fraction(1, 4)) for other in read.beats
    }
    if system != NUMBERS or inside:
        assert len(syllables) == 1
    else:
        assert syllables == {count_name(read, other.start) for other in read.beats}
