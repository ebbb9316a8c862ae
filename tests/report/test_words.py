"""Plain words: what a musician says, and nothing that has to be worked out."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.report import words
from tests.simulate.heard import passage_of


@pytest.mark.parametrize(
    ("value", "said"), [(0, "no"), (1, "one"), (7, "seven"), (12, "twelve"), (13, "13"), (-1, "-1")]
)
def test_whole_numbers_are_words_up_to_twelve(value: int, said: str) -> None:
    """As a book prints them."""
    assert words.number(value) == said


@pytest.mark.parametrize(
    ("value", "said"),
    [(0, "never"), (1, "once"), (2, "twice"), (3, "three times"), (20, "20 times")],
)
def test_how_often_has_its_words(value: int, said: str) -> None:
    """Once and twice, not "1 times"."""
    assert words.times(value) == said


@pytest.mark.parametrize(
    ("which", "of", "said"),
    [
        ((1,), 1, ""),
        ((1, 2), 2, "both times"),
        ((2,), 2, "the second time"),
        ((1, 2, 3), 3, "all three times"),
        ((3,), 4, "the third time"),
        ((1, 4), 4, "twice in four"),
        ((1, 2, 3), 4, "three times in four"),
        ((13,), 20, "once in 20"),
    ],
)
def test_which_time_it_was_is_said_as_one_says_it(
    which: tuple[int, ...], of: int, said: str
) -> None:
    """The words "the second time" tell where to listen; "1 of 2" does not."""
    assert words.how_often(which, of) == said


@pytest.mark.parametrize(
    ("bars", "said"),
    [
        ((), ""),
        ((6,), "bar 6"),
        ((7, 6), "bars 6 and 7"),
        ((1, 2, 3, 4, 7), "bars 1 to 4 and 7"),
        ((3, 1, 5, 3), "bars 1, 3 and 5"),
        ((0,), "the upbeat"),
        ((0, 1), "the upbeat and bar 1"),
        ((0, 1, 2, 3), "the upbeat and bars 1 to 3"),
    ],
)
def test_bars_are_listed_as_musicians_list_them(bars: tuple[int, ...], said: str) -> None:
    """Nobody says "bar 0": it is the upbeat."""
    assert words.bars_in_words(bars) == said


def test_a_long_list_of_bars_is_only_counted() -> None:
    """A tired reader does not want forty numbers; the table has them."""
    assert words.few_bars_in_words(range(1, 60, 2)) == "30 bars"
    assert words.few_bars_in_words([1, 2, 3, 9]) == "bars 1 to 3 and 9"


@given(st.sets(st.integers(0, 200)).map(sorted))
def test_runs_keep_every_bar_and_leave_gaps_between(bars: list[int]) -> None:
    """No bar is lost or said twice."""
    rows = words.runs(bars)
    assert [bar for row in rows for bar in row] == bars
    assert all(b == a + 1 for row in rows for a, b in pairwise(row))
    assert all(after[0] > before[-1] + 1 for before, after in pairwise(rows))


@pytest.mark.parametrize(
    ("beats", "said"),
    [
        (0.5, "half a beat"), (1.0, "one beat"), (2.0, "two beats"), (2.5, "two and a half beats"),
        (1.4, "1.4 beats"), (13.0, "13 beats"),
    ],
)  # fmt: skip
def test_beats_are_said_in_halves_where_they_are(beats: float, said: str) -> None:
    """And in figures where they are not."""
    assert words.beats_in_words(beats) == said


@pytest.mark.parametrize(
    ("beats", "said"),
    [
        (5 / 3, "one and two thirds beats"), (2 / 3, "two thirds of a beat"), (1.5, "one and a half beats"),
        (4 / 3, "one and a third beats"), (2.75, "two and three quarters beats"), (3.0, "three beats"),
        (1.4, "1.4 beats"),
    ],
)  # fmt: skip
def test_rests_are_said_in_thirds_and_quarters_too(beats: float, said: str) -> None:
    """Five eighths of rest in 6/8 are not 1.7 beats."""
    assert words.rest_in_words(beats) == said


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(0.0804, "80 ms"), (-0.02, "20 ms"), (0.9996, "1.0 s"), (1.26, "1.3 s"), (-2.0, "2.0 s")],
)
def test_times_are_read_at_a_glance(seconds: float, said: str) -> None:
    """The side is said in words beside it."""
    assert words.milliseconds(seconds) == said


def test_counts_are_said_as_in_a_lesson() -> None:
    """With "the and of 2", and "beat 2" for a beat."""
    rag = passage_of("1 e & a 2 | (1) & 2")
    assert words.count_in_words(rag, 1, "1a") == "the a of 1"
    assert words.count_in_words(rag, 2, "1&") == "the and of 1"
    assert words.count_in_words(rag, 2, "2") == "beat 2"


@pytest.mark.parametrize(
    ("said", "ends"), [("come in", "Come in."), ("Is it?", "Is it?"), (" one! ", "One!")]
)
def test_a_sentence_begins_large_and_ends(said: str, ends: str) -> None:
    """Full stops are not doubled."""
    assert words.sentence(said) == ends
