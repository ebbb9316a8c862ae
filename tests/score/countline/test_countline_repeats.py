"""Upbeats, repeats and endings: which bars share their time, and how they are numbered."""

import pytest

from rhythmtrain.score.countline.countline import read_bars, read_rhythm
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import bar_starts
from rhythmtrain.score.repeats import as_played

FOUR = Metre.parse("4/4")


def _spans(text: str) -> list[tuple[int, int, int]]:
    """Return each bar's number, and where it begins and ends in its metre."""
    return [(b.number, int(b.begins), int(b.ends)) for b in read_bars(text, FOUR)]


# Text, and each bar's number, beginning and end.
SHARED = [
    ("1 2 3 4 | 1 2 3 4", [(1, 0, 4), (2, 0, 4)]),
    ("4 | 1 2 3 4 | 1 2 3", [(0, 3, 4), (1, 0, 4), (2, 0, 4)]),
    ("4 | 1 2 3 :|", [(0, 3, 4), (1, 0, 3)]),
    ("|: 4 | 1 2 3 :|", [(0, 3, 4), (1, 0, 3)]),
    ("|: 4 | 1 2 3 :|: 4 | 1 2 3 :|", [(0, 3, 4), (1, 0, 3), (1, 3, 4), (2, 0, 3)]),
    ("|: 4 | 1 2 3 :| 4 | 1", [(0, 3, 4), (1, 0, 3), (1, 3, 4), (2, 0, 4)]),
    ("|: 4 | 1 2 3 :| 1 2 3 4", [(0, 3, 4), (1, 0, 3), (2, 0, 4)]),
    ("|: 3 4 | 1 2 :| 4 | 1", [(0, 2, 4), (1, 0, 2), (1, 2, 4), (2, 0, 4)]),
    ("|: 4 | 1 2 3 :| 3 4 | 1", [(0, 3, 4), (1, 0, 3), (2, 0, 4), (3, 0, 4)]),
    ("1 2 3 |: 4 | 1 2 3 4 | 1 2 3 :|", [(1, 0, 3), (1, 3, 4), (2, 0, 4), (3, 0, 3)]),
    ("4 |: 1 2 3 4 | 1 2 3 4 :|", [(0, 3, 4), (1, 0, 4), (2, 0, 4)]),
    ("|: 4 | 1 | first time 1 2 3 :| second time 1 2 3 4",
     [(0, 3, 4), (1, 0, 4), (2, 0, 3), (3, 0, 4)]),
    ("4 | rest 2 :|", [(0, 3, 4), (1, 0, 4), (2, 0, 3)]),
    ("1 2 3 4 | 2 3", [(1, 0, 4), (2, 0, 4)]),
]  # fmt: skip


@pytest.mark.parametrize(("text", "spans"), SHARED)
def test_an_upbeat_and_the_bar_it_returns_from_share_one_bar(
    text: str, spans: list[tuple[int, int, int]]
) -> None:
    """The player comes back to the upbeat in time, and the numbers are those of the print."""
    assert _spans(text) == spans
    written = write_bars(read_bars(text, FOUR))
    assert _spans(written) == spans


@pytest.mark.parametrize(("text", "spans"), SHARED[2:6])
def test_with_its_repeat_played_every_bar_is_whole(
    text: str, spans: list[tuple[int, int, int]]
) -> None:
    """A beat lost at the repeat would make everything after it wrong."""
    bars = read_bars(text, FOUR)
    assert len(bars) == len(spans)
    at = bars[0].begins
    for index in as_played(bars):
        assert at % 4 == bars[index].begins
        at += bars[index].length


def test_an_upbeat_in_another_metre_takes_its_own_length_from_the_bar_before() -> None:
    """A quarter's upbeat to a waltz after 4/4 leaves three quarters."""
    bars = read_bars("1 2 3 |: metre 3/4 3 | 1 2 3 | 1 2 :|", FOUR)
    assert [bar.length for bar in bars] == [3, 1, 3, 2]


def test_a_way_back_to_a_full_bar_that_goes_on_to_an_upbeat_brings_a_hint() -> None:
    """The bar before the second strain's upbeat is short on the way back too."""
    reading = read_rhythm("1 2 3 4 | 1 2 3 :|: 4 | 1 2 3 :|", FOUR)
    (hint,) = reading.hints
    assert str(hint).startswith("bar 2: goes back to a full bar and on to an upbeat")
    assert [bar.length for bar in reading.bars] == [4, 3, 1, 3]


def test_the_upbeat_lies_before_quarter_zero() -> None:
    """Time zero is the first whole bar, so bar 1 is at 0 with or without an upbeat."""
    assert bar_starts(read_bars("4 | 1 2 3 4 | 1", FOUR)) == [-1, 0, 4]


def test_a_hold_may_come_from_any_way_into_its_bar() -> None:
    """A tie into the second time comes from the bar before the first time."""
    text = "|: 1 2 3 4 | first time 1 2 3 (4) :| second time [1] 2 3 4"
    assert write_bars(read_bars(text, FOUR)) == text


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("1 | 1", [0, 1]),
        ("1 :| 1", [0, 0, 1]),
        ("1 | 1 :| 1", [0, 1, 0, 1, 2]),
        ("1 |: 1 :| x3 1", [0, 1, 1, 1, 2]),
        ("1 :|: 1 :|: x3 1 :|", [0, 0, 1, 1, 1, 2, 2]),
        ("1 :| 1 | 1 :|", [0, 0, 1, 2, 1, 2]),
        ("1 | first time 1 :| second time 1 | 1", [0, 1, 0, 2, 3]),
        ("1 | first time 1 | 1 :| x3 second time 1", [0, 1, 2, 0, 1, 2, 0, 3]),
    ],
)
def test_repeats_are_played_in_this_order(text: str, order: list[int]) -> None:
    """What is heard goes the way the signs say."""
    assert list(as_played(read_bars(text, FOUR))) == order
