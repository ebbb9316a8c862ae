"""What to do today: nights count, few passages a day, one reason each."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.coach.evidence import BarRuns, EntryTries, Practised, Runs
from rhythmtrain.coach.settings import Settings
from rhythmtrain.coach.skill import PassageState, state_of
from rhythmtrain.coach.today import Why, due_on, plan_for_today

DAY = date(2026, 3, 1)


def after(nights: int) -> date:
    """Return the day so many nights after the first."""
    return DAY + timedelta(days=nights)


def known(name: str, *runs: Runs, nights: int = 1, **more: object) -> PassageState:
    """Return a passage with these runs, as it stands so many nights later."""
    practised = Practised(name, name.title(), 72.0, runs, **more)  # type: ignore[arg-type]
    return state_of(practised, after(nights))


def test_what_was_played_today_waits_for_a_night() -> None:
    """A gap of minutes changes nothing, a night does."""
    plan = plan_for_today([known("rag", Runs(DAY, 44, 2, 1), nights=0)], DAY)
    assert plan.items == ()
    assert [(each.due, each.why) for each in plan.later] == [(after(1), Why.A_NIGHT_FIRST)]
    tomorrow = plan_for_today([known("rag", Runs(DAY, 44, 2, 1))], after(1))
    assert [each.why for each in tomorrow.items] == [Why.SLOW_FIRST]


def test_each_thing_has_the_reason_that_is_true_of_it() -> None:
    """New, the next tempo up, faded, at its tempo."""
    reasons = {
        Why.NEW: known("a"),
        Why.FASTER: known("b", Runs(DAY, 44, 2, 2)),
        Why.FADED: known("c", Runs(after(-90), 44, 2, 2)),
        Why.HOLD: known("d", Runs(after(-3), 72, 2, 2)),
    }
    for why, each in reasons.items():
        (item,) = plan_for_today([each], after(1)).items
        assert item.why is why


def test_weak_bars_come_alone_and_slower_before_all_of_it_and_an_entry_after() -> None:
    """The order in which a teacher would go."""
    weak = BarRuns(DAY, 44, 6, 3, 6, 9)
    entry = EntryTries(DAY, 11, "2&", alone=True, tries=3, in_time=0)
    each = known("rag", Runs(DAY, 44, 2, 2), bars=(weak,), entries=(entry,))
    bars, whole, come_in = plan_for_today([each], after(1)).items
    assert (bars.bars, bars.why) == ((6,), Why.WEAK_BARS)
    assert bars.tempo < whole.tempo == 48.0
    assert come_in.entry == (11, "2&")
    assert come_in.tempo == 44.0


def test_what_is_at_its_tempo_rests_longer_each_time_it_stood() -> None:
    """Two nights, then four, never more than fourteen; nights are settable."""
    nights = (0, 2, 6, 14, 28)
    runs = [Runs(after(n), 72, 2, 2) for n in nights]
    rests = [
        (due_on(known("p", *runs[: n + 1], nights=night)) - after(night)).days
        for n, night in enumerate(nights)
    ]
    assert rests == [2, 4, 8, 14, 14]
    short = Settings(first_rest=1)
    assert due_on(known("p", runs[0], nights=2), short) == after(1)


def test_a_day_has_few_passages_and_the_rest_is_named() -> None:
    """Three by custom; what waited longest comes first."""
    states = [known(name, Runs(after(-n), 44, 2, 1)) for n, name in enumerate("abcde")]
    plan = plan_for_today(states, after(1))
    assert [each.passage for each in plan.items] == ["e", "d", "c"]
    assert [(each.passage, each.why) for each in plan.later] == [
        ("b", Why.ENOUGH),
        ("a", Why.ENOUGH),
    ]


def test_a_passage_given_twice_is_planned_once() -> None:
    """The first state counts."""
    each = known("rag", Runs(DAY, 44, 2, 2))
    assert plan_for_today([each, each], after(1)) == plan_for_today([each], after(1))


RUNS = st.builds(
    lambda nights, tempo, runs, right: Runs(after(nights), tempo, runs, min(right, runs)),
    st.integers(-40, 0),
    st.sampled_from([44.0, 58.0, 72.0]),
    st.integers(1, 3),
    st.integers(0, 3),
)


@given(st.lists(st.lists(RUNS, max_size=6), max_size=8), st.integers(1, 4))
def test_every_passage_is_on_the_plan_once_and_a_day_is_never_too_full(
    histories: list[list[Runs]], passages: int
) -> None:
    """Nothing is forgotten, nothing is done twice, the plan is the same each time it is asked."""
    states = [known(str(n), *runs) for n, runs in enumerate(histories)]
    settings = Settings(passages=passages)
    plan = plan_for_today(states, after(1), settings)
    today = {each.passage for each in plan.items}
    later = [each.passage for each in plan.later]
    assert len(today) <= passages
    assert sorted([*today, *later]) == sorted(each.passage for each in states)
    assert plan == plan_for_today(reversed(states), after(1), settings)


@given(st.lists(RUNS, min_size=1, max_size=8), st.data())
def test_more_right_runs_never_lower_a_tempo_on_the_plan(
    runs: list[Runs], data: st.DataObject
) -> None:
    """Playing better is never punished with a slower tempo."""
    index = data.draw(st.integers(0, len(runs) - 1))
    each = runs[index]
    better = [*runs]
    better[index] = Runs(each.day, each.tempo, each.runs, each.runs)
    before = plan_for_today([known("p", *runs)], after(60)).items[0]
    now = plan_for_today([known("p", *better)], after(60)).items[0]
    assert now.tempo >= before.tempo


def test_what_stands_at_its_tempo_is_named_with_the_day_on_which_it_comes_again() -> None:
    """One night is not yet its rest."""
    plan = plan_for_today([known("p", Runs(DAY, 72, 2, 2))], after(1))
    assert plan.items == ()
    assert [(each.due, each.why) for each in plan.later] == [(after(2), Why.RESTS)]
