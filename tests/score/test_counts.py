"""Counts: one table for reading, writing and saying them."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import DrillError
from rhythmtrain.score.counts import count_name, place_of, spoken_count
from rhythmtrain.score.metre import Metre
from tests.simulate.written_bars import METRES

# Metre, way of counting, count, quarters into the bar, and how a sentence says it.
PLACES = [
    ("4/4", None, "1", "0", "1"),
    ("4/4", None, "2&", "3/2", "the and of 2"),
    ("4/4", None, "2e", "5/4", "the e of 2"),
    ("4/4", None, "4a", "15/4", "the a of 4"),
    ("4/4", None, "3la", "7/3", "the la of 3"),
    ("4/4", None, "3+1/5", "11/5", "1/5 after 3"),
    ("12/4", None, "11&", "21/2", "the and of 11"),
    ("2/2", None, "2&", "3", "the and of 2"),
    ("6/8", None, "2li", "5/2", "the li of 2"),
    ("6/8", None, "1ta", "1/4", "the ta of 1"),
    ("6/8", None, "1lata", "3/4", "the ta after la of 1"),
    ("6/8", None, "2lita", "11/4", "the ta after li of 2"),
    ("3+2/8", "group", "2&", "2", "the and of 2"),
    ("3+2/8", "group", "1li", "1", "the li of 1"),
    ("5/8", "group", "1+2/5", "1", "2/5 after 1"),
]


@pytest.mark.parametrize(("metre", "beat", "count", "at", "said"), PLACES)
def test_a_count_and_its_place_name_each_other(
    metre: str, beat: str | None, count: str, at: str, said: str
) -> None:
    """A count in a report is the one the player would say."""
    given_metre = Metre.parse(metre, beat=beat)
    assert place_of(given_metre, count) == Fraction(at)
    assert count_name(given_metre, Fraction(at)) == count
    assert spoken_count(given_metre, Fraction(at)) == said


@pytest.mark.parametrize(
    ("count", "at"),
    [("2 &", "3/2"), ("2+", "3/2"), ("2trip", "4/3"), ("2let", "5/3"), (" 1 ", "0")],
)
def test_other_spellings_of_a_count_are_read(count: str, at: str) -> None:
    """An entry in a drill file may be written as in the rhythm."""
    assert place_of(Metre.parse("4/4"), count) == Fraction(at)


@pytest.mark.parametrize(
    ("metre", "count", "words"),
    [
        ("2/4", "3", "beat 3 is named, but 2/4 has two beats"),
        ("1/4", "2", "1/4 has one beat$"),
        ("13/8", "14", "13/8 has 13 beats"),
        ("2/4", "0", "beat 0 is named"),
        ("2/4", "&", "'&' is not a count"),
        ("2/4", "", "is not a count"),
        ("2/4", "1x", "has no place called 'x'"),
        ("2/4", "1ta", "has no place called 'ta'"),
        ("6/8", "1e", "has no place called 'e'"),
        ("2/4", "1+5/4", "must lie inside the beat"),
        ("2/4", "1+0/4", "must lie inside the beat"),
        ("2/4", "1+1/0", "must lie inside the beat"),
        ("2/4", "1+1/99999", "is not a count"),
    ],
)
def test_what_is_no_count_is_refused(metre: str, count: str, words: str) -> None:
    """An entry asked for on a beat that is not there is a slip, not a rest."""
    with pytest.raises(DrillError, match=words):
        place_of(Metre.parse(metre), count)


@settings(deadline=None)
@given(
    metre=st.sampled_from(METRES),
    index=st.integers(0, 11),
    share=st.fractions(0, 1, max_denominator=64).filter(lambda share: share < 1),
)
def test_every_place_has_a_count_that_leads_back_to_it(
    metre: Metre, index: int, share: Fraction
) -> None:
    """No place in a bar is without a name."""
    beat = metre.beats[index % len(metre.beats)]
    at = beat.start + share * beat.length
    assert place_of(metre, count_name(metre, at)) == at
