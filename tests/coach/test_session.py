"""The next thing to do: the order of steps, detours, help, three ways up, and an end."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.coach.next_task import next_task
from rhythmtrain.coach.session import Session
from rhythmtrain.coach.settings import Order, Settings
from rhythmtrain.coach.stages import NEVER_HEARD, Outline, Stage, StageRuns, stages_for
from rhythmtrain.coach.task import Done, Over, Reason, Task, runs_at
from rhythmtrain.errors import RequestError
from tests.simulate.students import HOPELESS, PERFECT, Student, practised

DAY = date(2026, 3, 1)
BARS = tuple(range(1, 9))


def outline(*, instrument: bool = False, entry: bool = False) -> Outline:
    """Return eight bars of 2/4 at 72."""
    stages = stages_for(instrument=instrument, entry=entry, cue=entry)
    return Outline(72.0, 13.3, BARS, stages, frozenset(stages) - NEVER_HEARD)


def session(
    *done: Done, settings: Settings | None = None, instrument: bool = False, entry: bool = False
) -> Session:
    """Return a session in which that was done."""
    here = outline(instrument=instrument, entry=entry)
    return Session(here, DAY, (), done, settings or Settings())


def coming(*done: Done) -> Task:
    """Return the task that comes after what was done."""
    task = next_task(session(*done))
    assert isinstance(task, Task)
    return task


def right(task: Task) -> Done:
    """Return a task that went right."""
    return Done(task, task.runs, task.runs)


def wrong(task: Task, *failed: int) -> Done:
    """Return a task of which nothing went right."""
    return Done(task, task.runs, 0, failed)


def test_the_steps_come_in_the_order_of_teachers_all_of_them_slowly() -> None:
    """Listen, echo, count and clap, clap alone with less and less help, sing, one note, as written."""
    done = practised(session(instrument=True, entry=True), PERFECT, minutes=60).done
    stages = list(dict.fromkeys(each.task.stage for each in done))
    assert stages == list(stages_for(instrument=True, entry=True, cue=True))
    before = [each for each in done if each.task.stage not in (Stage.LADDER, Stage.COME_IN)]
    assert {each.task.tempo for each in before} == {44.0}
    alone = [each.task.help for each in done if each.task.stage is Stage.ALONE]
    assert alone == [0, 1, 2]
    assert [each.task.tempo for each in done if each.task.stage is Stage.COME_IN] == [44.0, 72.0]
    ladder = [each.task.tempo for each in done if each.task.stage is Stage.LADDER]
    assert ladder == [48.0, 52.0, 58.0, 63.0, 72.0]


def test_a_perfect_student_is_done_in_a_quarter_of_an_hour() -> None:
    """And is told that it stands, not kept busy."""
    sitting = practised(session(), PERFECT, minutes=60)
    assert next_task(sitting.session) is Over.DONE
    assert sitting.seconds < 15 * 60


def test_a_hopeless_student_gets_fewer_bars_slower_and_an_end_before_the_hour() -> None:
    """No hour of failing: two bars alone, slower, then it is left for the day."""
    sitting = practised(session(), HOPELESS, minutes=60)
    assert next_task(sitting.session) is Over.LEFT
    assert sitting.seconds < 15 * 60
    tempi = [each.task.tempo for each in sitting.done]
    assert min(tempi) < 30
    assert max(tempi) == 44.0
    assert {each.task.bars for each in sitting.done if each.task.level} >= {(1, 2)}


def test_the_bars_that_failed_come_alone_and_slower_then_among_their_neighbours() -> None:
    """And then back to all of it, at the tempo of before."""
    listen = Done(coming())
    echo = coming(listen)
    alone = coming(listen, wrong(echo, 6))
    assert (alone.bars, alone.tempo, alone.reason) == ((6,), 35.0, Reason.ALONE)
    around = coming(listen, wrong(echo, 6), right(alone))
    assert (around.bars, around.tempo, around.reason) == ((5, 6, 7), 44.0, Reason.CONTEXT)
    whole = coming(listen, wrong(echo, 6), right(alone), right(around))
    assert (whole.bars, whole.tempo, whole.reason) == ((), 44.0, Reason.WHOLE)
    slower = coming(listen, wrong(echo, 6), wrong(alone, 6))
    assert (slower.bars, slower.tempo, slower.reason) == ((6,), 28.0, Reason.SLOWER)
    back = coming(listen, wrong(echo, 6), wrong(alone, 6), wrong(slower, 6))
    assert back.reason is Reason.CONTEXT


def test_bars_beside_each_other_that_failed_are_done_together() -> None:
    """At most three, the one that failed most often among them; the others wait their turn."""
    listen = Done(coming())
    echo = coming(listen)
    assert coming(listen, wrong(echo, 6, 7, 2)).bars == (6, 7)
    assert coming(listen, wrong(echo, 4, 3, 5, 6, 7)).bars == (4, 5, 6)
    assert coming(listen, wrong(echo, *BARS)).bars == (1, 2), "all of it failed: begin with two"


def test_help_thins_after_what_went_well_and_returns_after_what_did_not() -> None:
    """On the detour too there is more to be heard."""
    before = tuple(StageRuns(stage, DAY, 44.0, 2, 2) for stage in (Stage.ECHO, Stage.WITH_HELP))
    here = Session(outline(), DAY, before, (Done(coming()),))
    first = next_task(here)
    assert isinstance(first, Task)
    assert (first.stage, first.help) == (Stage.ALONE, 0)
    less = next_task(Session(here.outline, DAY, before, (*here.done, right(first))))
    assert isinstance(less, Task)
    assert (less.help, less.reason) == (1, Reason.LESS_HELP)
    off = next_task(Session(here.outline, DAY, before, (*here.done, right(first), wrong(less, 6))))
    assert isinstance(off, Task)
    assert (off.bars, off.help) == ((6,), 0)


def test_the_next_day_goes_on_where_the_last_one_ended() -> None:
    """Hear it once, then the tempo above the one that stands."""
    done = practised(session(), PERFECT, minutes=7)
    tomorrow = Session(outline(), DAY + timedelta(days=1), done.session.rows, ())
    listen = next_task(tomorrow)
    assert isinstance(listen, Task)
    assert (listen.stage, listen.reason) == (Stage.LISTEN, Reason.GO_ON)
    climb = next_task(Session(outline(), tomorrow.day, tomorrow.before, (Done(listen),)))
    assert isinstance(climb, Task)
    assert climb.stage is Stage.LADDER
    reached = max(row.tempo for row in done.session.rows)
    assert climb.tempo > reached


def test_what_goes_wrong_at_full_tempo_sends_nobody_back_to_the_beginning() -> None:
    """It went right slowly: that still stands tomorrow."""
    wall = Student(lambda task, _bar: 1.0 if task.tempo < 70 else 0.0)
    today = practised(session(instrument=True), wall, minutes=60)
    assert next_task(today.session) is Over.LEFT
    tomorrow = Session(outline(instrument=True), DAY + timedelta(days=1), today.session.rows)
    went = practised(tomorrow, wall, minutes=5).done
    assert went[1].task.stage is Stage.LADDER
    assert went[1].task.tempo == 72.0


def test_what_stands_at_its_tempo_is_played_once_more_on_another_day() -> None:
    """So that it stays; and nothing else is asked for."""
    rows = practised(session(), PERFECT, minutes=60).session.rows
    tomorrow = Session(outline(), DAY + timedelta(days=2), rows)
    sitting = practised(tomorrow, PERFECT, minutes=60)
    assert [(each.task.stage, each.task.tempo) for each in sitting.done] == [
        (Stage.LISTEN, 44.0),
        (Stage.LADDER, 72.0),
    ]
    assert sitting.done[-1].task.reason is Reason.HOLD


def test_what_cannot_be_heard_is_done_once() -> None:
    """Singing before keys is done on trust."""
    stages = stages_for(instrument=True, entry=False, cue=False)
    heard = frozenset(stages) - NEVER_HEARD - {Stage.SING, Stage.ONE_NOTE, Stage.AS_WRITTEN}
    sitting = practised(Session(Outline(72.0, 13.3, BARS, stages, heard), DAY), PERFECT, minutes=60)
    sung = [each for each in sitting.done if each.task.stage is Stage.SING]
    assert [(each.runs, each.task.runs) for each in sung] == [(0, 1)]
    assert next_task(sitting.session) is Over.DONE


@pytest.mark.parametrize(
    ("order", "tempi"),
    [
        (Order.GRADUAL, [48.0, 52.0, 58.0, 63.0, 72.0]),
        (Order.ALTERNATING, [44.0, 72.0]),
        (Order.MIX, [48.0, 52.0, 72.0]),
    ],
)
def test_there_are_three_ways_up(order: Order, tempi: list[float]) -> None:
    """Step by step, slow and full in turn, or a mix: none has been shown to be best."""
    sitting = practised(session(settings=Settings(order=order)), PERFECT, minutes=60)
    ladder = [each.task.tempo for each in sitting.done if each.task.stage is Stage.LADDER]
    assert ladder == tempi


def test_a_tempo_that_stays_in_vain_is_left_and_the_session_ends_with_one_that_stands() -> None:
    """Nobody goes home with the failure in the ear."""
    wall = Student(lambda task, _bar: 1.0 if task.tempo < 50 else 0.0)
    sitting = practised(session(), wall, minutes=60)
    assert next_task(sitting.session) is Over.LEFT
    last = sitting.done[-1]
    assert (last.task.reason, last.task.tempo) == (Reason.END_WELL, 48.0)
    vain = [e for e in sitting.done if e.task.main and e.task.tempo == 52.0]
    assert len(vain) == Settings().patience


def test_a_session_in_which_nothing_is_heard_ends_soon() -> None:
    """A microphone that is off."""
    listen = Done(coming())
    echo = coming(listen)
    silent = Done(echo, silent=True)
    assert next_task(session(listen, silent, silent)) is Over.SILENT


def test_a_session_has_only_so_many_steps() -> None:
    """Also where every step goes well and the clock stands still."""
    sitting = practised(session(settings=Settings(most=5)), PERFECT, minutes=60)
    assert (len(sitting.done), next_task(sitting.session)) == (5, Over.ENOUGH)


def test_long_passages_are_played_once_at_a_time() -> None:
    """Two runs in a take, one where a run lasts longer than half a take."""
    here = outline()
    assert runs_at(here, 44.0, ()) == 2
    assert runs_at(here, 20.0, ()) == 1
    assert runs_at(here, 44.0, (6,)) == 3


def test_a_passage_without_bars_is_refused() -> None:
    """There is nothing to practise."""
    with pytest.raises(RequestError, match="nothing to practise"):
        Outline(72.0, 13.3, (), (Stage.LISTEN,), frozenset())


CHANCES = st.lists(st.floats(0.0, 1.0), min_size=8, max_size=8)


KINDS = st.fixed_dictionaries({"instrument": st.booleans(), "entry": st.booleans()})


@given(CHANCES, st.sampled_from(list(Order)), KINDS, st.integers(0, 999))
def test_every_session_ends_whoever_plays(
    chances: list[float], order: Order, kind: dict[str, bool], seed: int
) -> None:
    """With any skill in any bar, in any order, even without a clock."""
    student = Student(lambda _task, bar: chances[bar - 1], seed=seed)
    settings = Settings(order=order)
    here = Session(outline(**kind), DAY, settings=settings)
    sitting = practised(here, student, minutes=100_000)
    assert isinstance(next_task(sitting.session), Over)
    assert len(sitting.done) <= settings.most


@given(CHANCES, st.integers(0, 999), st.integers(1, 40))
def test_a_better_last_take_never_gives_a_slower_next_one(
    chances: list[float], seed: int, steps: int
) -> None:
    """More right runs and fewer failed bars: what comes next is not lower, in the gradual order."""
    student = Student(lambda _task, bar: chances[bar - 1], seed=seed)
    done = practised(session(), student, minutes=100_000).done[:steps]
    last = done[-1]
    ranks = []
    for went_right in range(last.runs + 1):
        failed = () if went_right == last.runs else (last.task.bars or BARS)[:1]
        better = Done(last.task, last.runs, went_right, failed)
        ranks.append(_height(next_task(session(*done[:-1], better))))
    assert ranks == sorted(ranks)


def _height(task: Task | Over) -> tuple[int, float, int]:
    """Return how far up a task stands: its step, its tempo; what is over stands at either end."""
    if isinstance(task, Over):
        return (-1, 0.0, 0) if task is Over.LEFT else (99, 0.0, 0)
    return list(Stage).index(task.stage), task.tempo, task.help
