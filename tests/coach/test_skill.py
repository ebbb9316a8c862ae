"""The state of a passage: what is passed, what fades, which bars are weak."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.coach.evidence import BarRuns, EntryTries, Practised, Runs
from rhythmtrain.coach.settings import Settings
from rhythmtrain.coach.skill import PassageState, state_of
from rhythmtrain.errors import RequestError

DAY = date(2026, 3, 1)
WRITTEN = 72.0


def after(nights: int) -> date:
    """Return the day so many nights after the first."""
    return DAY + timedelta(days=nights)


def state(*runs: Runs, nights: int = 0, settings: Settings | None = None) -> PassageState:
    """Return the state of a passage with these runs."""
    return state_of(Practised("p", "P", WRITTEN, runs), after(nights), settings or Settings())


def test_a_passage_begins_at_the_slowest_tempo_and_climbs_by_what_is_passed() -> None:
    """Slow first; two right runs and the next mark of the ladder is due."""
    assert (state().reached, state().next_tempo) == (None, 44.0)
    once = state(Runs(DAY, 44, 2, 2))
    assert (once.reached, once.next_tempo) == (44.0, 48.0)
    assert state(Runs(DAY, 44, 2, 1)).reached is None
    assert state(Runs(DAY, 44, 1, 1)).reached is None, "once is not yet sure"
    done = state(Runs(DAY, 72, 2, 2))
    assert done.at_tempo
    assert done.next_tempo == WRITTEN


def test_whoever_passed_a_tempo_has_passed_those_below_it() -> None:
    """Nobody who plays it at 58 is sent to 44."""
    assert state(Runs(DAY, 58, 3, 3), Runs(DAY, 44, 4, 0)).next_tempo == 63.0


def test_takes_at_nearly_one_tempo_count_together() -> None:
    """A recording played at 57.8 is one of 58."""
    each = state(Runs(DAY, 57.8, 1, 1), Runs(DAY, 58, 1, 1))
    assert [(tempo.tempo, tempo.passed) for tempo in each.tempi] == [(58.0, True)]


def test_what_was_not_played_for_weeks_is_asked_for_again() -> None:
    """It stands over some nights, fades over many, and that is told from never having stood."""
    runs = Runs(DAY, 44, 2, 2)
    assert state(runs, nights=10).reached == 44.0
    faded = state(runs, nights=60)
    assert faded.reached is None
    assert faded.tempi[0].faded
    assert not state(Runs(DAY, 44, 2, 0), nights=60).tempi[0].faded


def test_what_lies_in_the_future_is_left_out() -> None:
    """A clock that was set wrongly does no harm."""
    assert state(Runs(after(3), 44, 2, 2)).reached is None


RUNS = st.builds(
    lambda nights, tempo, runs, wrong: Runs(after(nights), tempo, runs, max(runs - wrong, 0)),
    st.integers(0, 20),
    st.sampled_from([44.0, 48.0, 58.0, 72.0]),
    st.integers(1, 4),
    st.integers(0, 4),
)


@given(st.lists(RUNS, max_size=8), st.data())
def test_more_right_runs_never_lower_the_tempo(runs: list[Runs], data: st.DataObject) -> None:
    """A wrong run made right, or one right run more today: the suggestion stays or rises."""
    today = 21
    before = state(*runs, nights=today)
    if runs:
        index = data.draw(st.integers(0, len(runs) - 1))
        each = runs[index]
        better = Runs(each.day, each.tempo, each.runs, each.runs)
        changed = state(*runs[:index], better, *runs[index + 1 :], nights=today)
        assert changed.next_tempo >= before.next_tempo
    tempo = data.draw(st.sampled_from([44.0, 48.0, 58.0, 72.0]))
    added = state(*runs, Runs(after(today), tempo, 1, 1), nights=today)
    assert added.next_tempo >= before.next_tempo


def test_a_bar_whose_notes_are_missing_is_weak_and_the_weakest_comes_first() -> None:
    """These are practised alone."""
    bars = (
        BarRuns(DAY, 44, 1, 4, 20, 0),
        BarRuns(DAY, 44, 2, 4, 14, 6),
        BarRuns(DAY, 44, 3, 4, 8, 12),
    )
    each = state_of(Practised("p", "P", WRITTEN, bars=bars), DAY)
    assert each.weak_bars == (3, 2)


@pytest.mark.parametrize(("times", "weak"), [(1.0, False), (1.4, False), (2.5, True)])
def test_a_bar_is_uneven_only_where_that_is_sure(times: float, *, weak: bool) -> None:
    """Beside the spread of a steady player at that tempo; a little more is nobody's fault."""
    spread = float(spread_s(1.0)) * times
    bars = (BarRuns(DAY, 60, 1, 4, 40, 0, 0, spread),)
    (bar,) = state_of(Practised("p", "P", WRITTEN, bars=bars), DAY).bars
    assert bar.evenness is not None
    assert bar.evenness.ratio == pytest.approx(times)
    assert bar.evenness.low < times < bar.evenness.high
    assert bar.weak is weak
    few = (BarRuns(DAY, 60, 1, 1, 3, 0, 0, spread),)
    assert state_of(Practised("p", "P", WRITTEN, bars=few), DAY).bars[0].evenness is None


def test_an_entry_counts_as_passed_only_without_help() -> None:
    """With the rest counted aloud everyone comes in."""
    helped = EntryTries(DAY, 11, "2&", alone=False, tries=9, in_time=9)
    alone = EntryTries(DAY, 11, "2&", alone=True, tries=3, in_time=3)
    (entry,) = state_of(Practised("p", "P", WRITTEN, entries=(helped,)), DAY).entries
    assert not entry.passed
    assert entry.helped.share > 0.9
    (entry,) = state_of(Practised("p", "P", WRITTEN, entries=(helped, alone)), DAY).entries
    assert entry.passed


def test_more_right_runs_than_runs_are_refused() -> None:
    """What cannot be is said so."""
    with pytest.raises(RequestError, match="3 of 2 runs at 44"):
        Runs(DAY, 44, 2, 3)
