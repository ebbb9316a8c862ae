"""The course of tries at one entry: it ends, it varies, and help follows how it went."""

from collections.abc import Callable
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.coach.entry_course import (
    IN_A_ROW,
    LEADS,
    Course,
    Tried,
    learnt,
    next_try,
    waits_to_hear,
)
from rhythmtrain.coach.help import next_help
from rhythmtrain.errors import RequestError

STEPS = 5


def _course(
    player: Callable[[int], bool], *, bars: int = 10, most: int = 12, seed: int = 1
) -> list[Tried]:
    course, chance = Course(bars, STEPS, most), Random(seed)  # noqa: S311
    done: list[Tried] = []
    while (coming := next_try(course, done, chance)) is not None:
        done.append(Tried(coming, good=player(len(done))))
    return done


def test_a_perfect_player_loses_one_step_of_help_at_every_try_and_is_done() -> None:
    """Nobody who can do it is kept longer than it takes to see that."""
    done = _course(lambda _: True)
    assert [each.tried.help for each in done] == [0, 1, 2, 3, 4, 4, 4]
    assert learnt(Course(10, STEPS), done)


def test_a_player_who_never_comes_in_keeps_all_help_and_is_let_go() -> None:
    """A bad day ends after a set number of tries."""
    done = _course(lambda _: False)
    assert [each.tried.help for each in done] == [0] * 12
    assert not learnt(Course(10, STEPS), done)


def test_help_returns_one_step_after_a_bad_try() -> None:
    """A slip is met with a little help, not with all of it again."""
    done = _course(lambda number: number != 3)
    assert [each.tried.help for each in done][:6] == [0, 1, 2, 3, 2, 3]


@given(st.lists(st.booleans(), max_size=60), st.integers(0, 12), st.integers(1, 60), st.integers())
def test_every_course_ends_whatever_is_played(
    outcomes: list[bool], bars: int, most: int, seed: int
) -> None:
    """Practice that never lets go is not practice."""
    done = _course(
        lambda n: outcomes[n] if n < len(outcomes) else False, bars=bars, most=most, seed=seed
    )
    assert 1 <= len(done) <= most
    assert all(0 <= each.tried.lead <= bars for each in done)
    assert sum(each.tried.from_top for each in done) == (len(done) > most // 2 or learnt_in(done))


def learnt_in(done: list[Tried]) -> bool:
    """Return whether help was ever gone: then a try from the top has come."""
    return any(each.tried.help == STEPS - 1 for each in done)


@given(st.lists(st.tuples(st.booleans(), st.booleans()), min_size=1, max_size=40))
def test_whoever_does_better_never_gets_more_help(pairs: list[tuple[bool, bool]]) -> None:
    """Help must follow how it went, in the right direction."""
    better = worse = 0
    for first, second in pairs:
        better = next_help(better, good=first or second, steps=STEPS)
        worse = next_help(worse, good=first and second, steps=STEPS)
        assert better >= worse


@given(st.integers(4, 40), st.integers())
def test_the_lead_in_is_never_the_same_twice_running(bars: int, seed: int) -> None:
    """Two bars every time would teach two bars of counting."""
    done = _course(lambda n: n % 2 == 0, bars=bars, seed=seed)
    leads = [each.tried.lead for each in done]
    inside = [each.tried.lead for each in done if not each.tried.from_top]
    pairs = pairwise(done)
    free = [(one.tried.lead, two.tried.lead) for one, two in pairs if not two.tried.from_top]
    assert all(before != after for before, after in free), leads
    assert set(inside) == {lead for lead in LEADS if lead <= bars}


def test_the_same_generator_makes_the_same_course() -> None:
    """A teacher can give the same course to everyone."""
    assert _course(lambda n: n % 3 > 0, seed=5) == _course(lambda n: n % 3 > 0, seed=5)
    assert _course(lambda n: n % 3 > 0, seed=5) != _course(lambda n: n % 3 > 0, seed=6)


def test_where_the_rest_is_short_all_of_it_leads_in() -> None:
    """An entry in the first bar has only the count-in before it."""
    assert {each.tried.lead for each in _course(lambda _: True, bars=1)} == {1}
    assert {each.tried.lead for each in _course(lambda _: True, bars=0)} == {0}


def test_three_in_a_row_must_be_without_help_and_in_time() -> None:
    """Two and one with help are not three."""
    course = Course(8, STEPS)
    alone = _course(lambda _: True, bars=8)[-IN_A_ROW:]
    assert learnt(course, alone)
    assert not learnt(course, alone[1:])
    assert not learnt(course, [*alone[:2], Tried(alone[2].tried, good=False)])


def test_waiting_to_hear_is_said_only_when_it_is_the_pattern() -> None:
    """One late entry among many is no habit."""
    late = [Tried(each.tried, good=False, late=True) for each in _course(lambda _: False)]
    good = [Tried(each.tried, good=True) for each in late]
    assert waits_to_hear(late[:3])
    assert not waits_to_hear(late[:2])
    assert not waits_to_hear([*late[:3], *good[:2]])
    assert not waits_to_hear([])


@pytest.mark.parametrize("tries", [0, -1, 101])
def test_a_number_of_tries_that_nobody_means_is_refused(tries: int) -> None:
    """Said at once, with what is allowed."""
    with pytest.raises(RequestError, match="tries must be 1 to 100"):
        Course(8, STEPS, tries)
