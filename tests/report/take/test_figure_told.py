"""Wrong figures: one sentence for each kind, with how often and where else."""

from rhythmtrain.assess.findings import Findings, Mistake
from rhythmtrain.report.take.figure_told import figure_row, figures_told
from tests.simulate.heard import Amiss, heard_of, passage_of

RAG = passage_of("1 a 2 | 1 & 2 & | 1 a 2 | 1 & 2")
DOTTED = "dotted played even"


def _found(*mistakes: Mistake, repeats: int = 1) -> Findings:
    return heard_of(RAG, Amiss(mistakes=mistakes), repeats=repeats)[0].findings


def test_once_where_it_comes_once_needs_no_word() -> None:
    """The figure as written, where it stands, how it sounded; the choice is the player's."""
    figure = Mistake(1, "1a", DOTTED, (1,), 1, 1)
    assert figures_told(_found(figure)) == (
        ("The dotted figure in bar 1 was played even; if you meant that, leave it.", (1,)),
    )
    assert figure_row(_found(figure), figure) == DOTTED


def test_both_times_and_the_second_time_are_said_so() -> None:
    """Not "2 times of 2"."""
    both = Mistake(1, "1a", DOTTED, (1,), 2, 2)
    ((words, _),) = figures_told(_found(both, repeats=2))
    assert words == (
        "The dotted figure in bar 1 was played even, both times; if you meant that, leave it."
    )
    second = Mistake(1, "1a", DOTTED, (13,), 1, 2)
    assert figure_row(_found(second, repeats=2), second) == f"{DOTTED}, the second time"
    unplaced = Mistake(1, "1a", DOTTED, (), 1, 2)
    assert figure_row(_found(unplaced, repeats=2), unplaced) == f"{DOTTED}, the first time"


def test_the_same_figure_in_two_bars_is_one_sentence() -> None:
    """It is one thing to learn."""
    first, third = Mistake(1, "1a", DOTTED, (1,), 1, 1), Mistake(3, "1a", DOTTED, (8,), 1, 1)
    other = Mistake(2, "1&", "even played dotted", (4,), 1, 1)
    told = figures_told(_found(first, other, third))
    assert [bars for _, bars in told] == [(1, 3), (2,)]
    assert "was played even, and the same in bar 3;" in told[0][0]


def test_the_same_figure_twice_in_one_bar_names_the_bar_once() -> None:
    """Not "and the same in bar 1"."""
    twice = (Mistake(1, "1a", DOTTED, (1,), 1, 1), Mistake(1, "2a", DOTTED, (2,), 1, 1))
    ((words, bars),) = figures_told(_found(*twice))
    assert bars == (1,)
    assert "the same" not in words


def test_a_habit_all_over_is_said_with_how_many() -> None:
    """Five of six places, of which the first is named."""
    habit = Mistake(1, "1a", DOTTED, (1,), 5, 6)
    ((words, _),) = figures_told(_found(habit))
    assert "was played even, and others like it: five of six;" in words
    assert figure_row(_found(habit), habit) == f"{DOTTED}, five of six"
