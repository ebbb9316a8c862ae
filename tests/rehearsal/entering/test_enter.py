"""Practising an entry, on the shipped fakes."""

from pathlib import Path

import pytest

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.entering.enter import SILENT_TRIES, practise_entry
from rhythmtrain.rehearsal.entering.one_try import goal_of, try_plan, try_timeline
from rhythmtrain.rehearsal.entering.wish import EnterWish
from rhythmtrain.rehearsal.live.dry_run import Player
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.report.screen.live import LiveScreen, Moment
from tests.rehearsal.watching import Watching


def test_the_whole_course_runs_on_the_fakes() -> None:
    """A late first try, help thinning, help returning after a slip, three alone at the end."""
    stage = Watching()
    told = practise_entry(EnterWish("towpath-entry", dry_run=True), stage)
    tries = told.document["tries"]
    went = [each["in_time"] for each in tries]
    assert went == [False, True, True, True, False, True, True, True, True, True]
    assert [each["help"] for each in tries][-3:] == ["no help"] * 3
    assert told.document["learnt"] is True
    assert len({each["lead_bars"] for each in tries}) >= 3
    assert sum(each["from_top"] for each in tries) == 1
    assert stage.said[0].endswith("a little late.")
    first = [screen for screen in stage.screens if any("Try 1:" in line for line in screen)]
    cared = [screen for screen in stage.screens if any("Start quiet" in line for line in screen)]
    assert cared == first, "said once, in the first try"
    assert "Three times running you came in without help" in told.text
    assert "bar 11, the and of 2, after eight bars of rest" in told.text


def test_a_course_in_which_nothing_is_heard_ends_soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """A microphone that is off must not play eight bars of rest twelve times."""
    monkeypatch.setattr("rhythmtrain.rehearsal.entering.enter.DRY_PLAYER", Player(silent=True))
    told = practise_entry(EnterWish("towpath-entry", dry_run=True))
    assert [each["went"] for each in told.document["tries"]] == ["not heard"] * SILENT_TRIES


def test_a_player_who_waits_to_hear_the_entry_is_told_so(monkeypatch: pytest.MonkeyPatch) -> None:
    """A little late each time is a habit with a name, and a remedy; help never thins."""
    monkeypatch.setattr("rhythmtrain.rehearsal.entering.enter.DRY_LATE_S", (0.2,) * 4)
    told = practise_entry(EnterWish("towpath-entry", dry_run=True, tries=4))
    assert "You waited to hear it" in told.text
    assert len({each["help"] for each in told.document["tries"]}) == 1
    assert told.document["learnt"] is False
    monkeypatch.setattr("rhythmtrain.rehearsal.entering.enter.DRY_LATE_S", (-0.015,) * 4)
    told = practise_entry(EnterWish("towpath-entry", dry_run=True, tries=4))
    assert "You waited to hear it" not in told.text


def test_the_last_try_stands_on_the_screen_while_the_next_is_counted_in() -> None:
    """Whoever holds an instrument has no hand for a key."""
    stage = Watching()
    practise_entry(EnterWish("towpath-entry", dry_run=True, tries=2), stage)
    last = "\n".join(stage.screens[-1])
    assert "Try 2: bar 11" in last
    assert "Try 1, " in last
    assert "a little late" in last


def test_a_course_begins_with_the_same_lead_ins_for_the_same_seed() -> None:
    """So that a teacher can set it."""
    first, second = (practise_entry(EnterWish("towpath-entry", dry_run=True)) for _ in range(2))
    assert first.document == second.document


def test_it_ends_after_so_many_tries() -> None:
    """A set number, not for ever."""
    told = practise_entry(EnterWish("towpath-entry", dry_run=True, tries=3))
    assert len(told.document["tries"]) == 3
    assert told.document["learnt"] is False
    assert "You came in where you should 2 times in 3." in told.text


def test_microphone_and_pads_will_do() -> None:
    """The entry is the same for a clarinet."""
    for source in ("midi", "mic"):
        told = practise_entry(EnterWish("towpath-entry", dry_run=True, source=source, tries=2))
        assert [each["in_time"] for each in told.document["tries"]] == [False, True]


def test_each_try_begins_its_own_number_of_bars_before() -> None:
    """Counted in, then the rest, the entry and its phrase."""
    goal = goal_of(find_passage("towpath-entry"), None)
    for lead, first in ((2, 9), (8, 3)):
        timeline = try_timeline(goal, Try(lead, 0), speed=1.0, count_in=1)
        numbers = [bar.bar.number for bar in timeline.bars]
        assert numbers == [0, *range(first, 15)]
        assert len(timeline.entries) == 1
    top = try_timeline(goal, Try(goal.first, 0, from_top=True), speed=1.0, count_in=1)
    assert top.bars[1].bar.number == 1


def test_a_lead_in_within_a_rest_is_counted_as_in_the_whole_rest(tmp_path: Path) -> None:
    """Four bars before the end of a rest of sixteen one counts "13 2 3 4", not "1 2 3 4"."""
    path = tmp_path / "long.toml"
    path.write_text(
        'title = "Long"\nmetre = "4/4"\ntempo = 120\nrhythm = """\n1 | rest 16 | 1 2 3 4\n"""\n',
        encoding="utf-8",
    )
    goal = goal_of(find_passage(str(path)), None)

    def ones(each: Try) -> list[str]:
        timeline = try_timeline(goal, each, speed=1.0, count_in=1)
        plan = try_plan(goal, each, timeline)
        words = {p.time_s: p.text for p in plan.prompts if p.layer is Layer.COUNT}
        return [words.get(timeline.track_seconds(bar.start), "") for bar in timeline.bars[:-1]]

    assert ones(Try(4, 0)) == ["1", "13", "14", "15", "16"]
    assert ones(Try(2, 0)) == ["1", "15", "16"]
    top = ones(Try(17, 0, from_top=True))
    assert top == ["1", "1", *map(str, range(1, 17))]
    timeline = try_timeline(goal, Try(4, 0), speed=1.0, count_in=1)
    shown = Moment(float(timeline.track_seconds(timeline.bars[1].start)) + 0.1)
    assert "(13)" in "\n".join(LiveScreen(timeline).lines(shown))


def test_preparation_is_spoken_before_the_entry_and_never_on_it() -> None:
    """The drill says "breathe", a beat and a half before."""
    goal = goal_of(find_passage("towpath-entry"), None)
    for help_step in range(len(goal.steps)):
        each = Try(4, help_step)
        plan = try_plan(goal, each, try_timeline(goal, each, speed=1.0, count_in=1))
        words = [p for p in plan.prompts if p.layer is Layer.COUNT]
        (entry_s,) = plan.entries_s
        assert ("breathe" in {p.text for p in words}) == goal.steps[help_step].prepares
        assert not [p for p in words if entry_s - 0.249 < p.time_s < entry_s + 0.099]
        assert [p for p in plan.prompts if p.layer is Layer.CUE]


def test_the_entry_can_be_chosen_and_a_wrong_one_is_refused(rag: Path) -> None:
    """By the bar it stands in."""
    passage = find_passage(str(rag))
    assert goal_of(passage, 9).entry.bar == 9
    with pytest.raises(RequestError, match="there is no entry in bar 3: Kitchen Rag has them in 9"):
        goal_of(passage, 3)
    with pytest.raises(RequestError, match="has no entry: no rest of a bar or more"):
        goal_of(find_passage(str(rag), "1-4"), None)


def test_repeat_signs_are_left_out_of_a_try(tmp_path: Path) -> None:
    """One entry a try, and only one."""
    path = tmp_path / "twice.toml"
    path.write_text(
        'title = "Twice"\nmetre = "2/4"\ntempo = 72\n'
        'rhythm = """\n|: 1 2 | rest 3 | 1 2 :| 1 2\n"""\n',
        encoding="utf-8",
    )
    goal = goal_of(find_passage(str(path)), None)
    timeline = try_timeline(goal, Try(2, 0), speed=1.0, count_in=1)
    assert [bar.bar.number for bar in timeline.bars] == [0, 3, 4, 5, 6]


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"source": "drum"}, "from. must be"),
        ({"kind": "wind"}, "as.wind. is for the microphone"),
        ({"tries": 0}, "tries must be 1 to 100"),
        ({"speed": 9.0}, "speed must be"),
    ],
    ids=str,
)
def test_wishes_that_cannot_be_met_are_refused(wish: dict[str, object], words: str) -> None:
    """Before anything sounds."""
    with pytest.raises(RequestError, match=words):
        practise_entry(EnterWish("towpath-entry", dry_run=True, **wish))  # type: ignore[arg-type]
