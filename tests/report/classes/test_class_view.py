"""One bar of one student: the one thing that a teacher would hear first."""

import pytest

from rhythmtrain.assess.findings import Extra, Mistake
from rhythmtrain.report.classes.view import Cell, cells_of, columns_of, said_of
from rhythmtrain.report.take.advice import advice
from tests.simulate.heard import Amiss, heard_of, passage_of

GONE = frozenset({(5, "1", 1), (5, "2", 1)})
BEFORE = frozenset({(0, "2&", 1), (1, "1", 1), (1, "2", 1)})
RAG = passage_of("(2) & | 1 2 | rest 2 | 1 & 2 & | 1 2", title="Lantern Rag")


def cells(amiss: Amiss) -> dict[int, Cell]:
    """Return the cells of a take by the bar's number."""
    return {cell.bar: cell for cell in cells_of(heard_of(RAG, amiss)[0])}


@pytest.mark.parametrize(
    ("amiss", "bar", "shape", "words"),
    [
        (Amiss(), 1, "·", "right"),
        (Amiss(late_s={(4, "2", 1): 0.12}), 4, "▶", "late"),
        (Amiss(late_s={(4, "2", 1): -0.12}), 4, "◀", "early"),
        (Amiss(late_s={(4, "2", 1): -0.12, (4, "2&", 1): 0.12}), 4, "◀ ▶", "early and late"),
        (Amiss(missed=frozenset({(5, "2", 1)})), 5, "○", "1 not heard"),
        (Amiss(missed=frozenset({(5, "1", 1), (5, "2", 1)})), 5, "○", "none heard"),
        (Amiss(extras=(Extra(3.25, 5, "1&"),)), 5, "\N{MULTIPLICATION SIGN}", "1 too many"),
        (
            Amiss(mistakes=(Mistake(5, "1", "even played dotted", (7, 8), 1, 1),)),
            5, "≠", "another rhythm",
        ),
        (Amiss(came={(4, "1", 1): "one beat early"}), 4, "◀", "entry one beat early"),
        (Amiss(missed=frozenset({(4, "1", 1)})), 4, "○", "entry not heard"),
    ],
)  # fmt: skip
def test_a_cell_says_the_first_thing_of_its_bar(
    amiss: Amiss, bar: int, shape: str, words: str
) -> None:
    """In a shape and in words, and the other bars stay right."""
    found = cells(amiss)
    assert (found[bar].shape, found[bar].words) == (shape, words)
    assert {cell.words for cell in found.values() if cell.bar != bar} == {"right"}


def test_bars_of_rest_have_no_column_and_the_upbeat_has_a_name() -> None:
    """There is nothing to hear in them."""
    assert columns_of(cells_of(heard_of(RAG, Amiss())[0])) == ("up", "1", "4", "5")


def test_a_bar_that_was_not_reached_is_not_wrong() -> None:
    """It says so."""
    assert cells(Amiss(unchecked=GONE))[5] == Cell(5, "", "not played")


@pytest.mark.parametrize(
    ("amiss", "first"),
    [
        (Amiss(), "It stands at its tempo"),
        (Amiss(unchecked=GONE), "Go on to the end, whatever happens: bar 5 was not played."),
        (Amiss(unchecked=BEFORE), "Begin at the beginning: the upbeat and bar 1 were not played."),
        (Amiss(unchecked=GONE, missed=frozenset({(4, "2", 1)})), "Bar 4"),
    ],
)
def test_who_left_bars_out_is_sent_to_them_before_another_tempo(amiss: Amiss, first: str) -> None:
    """What went wrong in the bars that were played still comes first."""
    heard, _ = heard_of(RAG, amiss)
    said = said_of(heard, advice(heard, name="rag"), cells_of(heard))
    assert said.first.startswith(first)
    assert (said.command == "") == ("not played" in first)
