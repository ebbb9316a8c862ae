"""Whether the music between two marks holds as many bars as a person says."""

from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.notate.beats.bar_counts import Miscount, miscounts
from rhythmtrain.notate.beats.marks import Mark
from rhythmtrain.notate.beats.solver import solve_beats
from tests.simulate.orders import CUTS, ORDERS, REPEATS, Told, told_by_marks
from tests.simulate.performances import HELD_OUT, perform

SEED = HELD_OUT + 423


@pytest.fixture(scope="module")
def straight() -> Told:
    """Return a steady accompanist who plays what is written, and two bars tapped on that."""
    return told_by_marks(SEED, "straight", expressive=False)


def found(told: Told) -> tuple[Miscount, ...]:
    """Return what is asked about."""
    return miscounts(told.curves, told.marks, told.beats_a_bar)


@pytest.mark.parametrize("name", [REPEATS[0], CUTS[0]])
def test_a_repeat_or_a_cut_that_was_not_said_is_asked_about(name: str) -> None:
    """Two bars tapped, the last one marked and numbered by the score."""
    told = told_by_marks(SEED, name, expressive=False)
    (question,) = found(told)
    assert question.said in {told.bars_said - 2, told.bars_said - 3}
    assert abs(question.heard - question.said - told.bars_more) <= 1


def test_what_is_played_as_written_is_not_asked_about(straight: Told) -> None:
    """Nor are short stretches, nor marks without a tempo before them."""
    assert found(straight) == ()
    first, last = straight.marks[0], straight.marks[-1]
    wrong = replace(last, beat=last.beat - 8 * straight.beats_a_bar)
    assert miscounts(straight.curves, (first, wrong), straight.beats_a_bar) == ()
    near = Mark(straight.marks[-2].beat + 2 * straight.beats_a_bar, last.time_s)
    assert miscounts(straight.curves, (*straight.marks[:-1], near), straight.beats_a_bar) == ()


def test_a_wrong_number_of_the_last_bar_is_asked_about_once(straight: Told) -> None:
    """And a mark in the middle that is right leaves the question to the other half."""
    bar = straight.beats_a_bar
    wrong = replace(straight.marks[-1], beat=straight.marks[-1].beat + 6 * bar)
    beats_s = perform(SEED, expressive=False, bars=straight.bars_said).beats_s
    middle = Mark(12 * bar, float(beats_s[12 * bar]))
    curves = straight.curves
    marks = (*straight.marks[:-1], middle, wrong)
    (question,) = miscounts(curves, marks, bar)
    assert (question.first, question.last) == (12 * bar, wrong.beat)
    assert question.heard < question.said


def test_the_solver_tells_of_it() -> None:
    """Beside the beats, which lie where the marks say meanwhile."""
    told = told_by_marks(SEED, CUTS[0], expressive=False)
    solved = solve_beats(
        told.curves,
        beats_a_bar=told.beats_a_bar,
        count=told.marks[-1].beat + 1,
        anchors=[(told.marks[-1].beat, told.marks[-1].time_s)],
        taps=[(mark.beat, mark.time_s) for mark in told.marks[:-1]],
    )
    assert len(solved.miscounts) == 1
    assert solved.beats[-1].time_s == pytest.approx(told.marks[-1].time_s, abs=0.06)


@pytest.mark.long
def test_most_are_found_on_a_piano_never_tuned_on_and_hardly_any_is_made_up() -> None:
    """Steady accompanists: nine of ten; nobody who plays straight is asked."""
    asked: dict[str, list[bool]] = {name: [] for name in ORDERS}
    for seed in range(HELD_OUT + 430, HELD_OUT + 440):
        for name, answers in asked.items():
            answers.append(bool(found(told_by_marks(seed, name, expressive=False))))
    assert np.mean(asked.pop("straight")) <= 0.1
    assert np.mean(list(asked.values())) >= 0.8
