"""How help fades over the runs, and what never does."""

from dataclasses import replace

import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.fading import HELP_STEPS, steps_for
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.passages import bar, passage

NAMES = [step.name for step in HELP_STEPS]
OFF_BEATS = (bar(1, 0, "3/2", metre="2/4"), bar(2, "1/2", metre="2/4", silent=(0,)))


def faded(plan: Plan, run: int) -> dict[Layer, list[str]]:
    """Return what is heard in one run: the counts of each layer."""
    heard: dict[Layer, list[str]] = {}
    for each in plan.prompts:
        if each.repeat == run:
            heard.setdefault(each.layer, []).append(f"{each.bar}:{each.count}")
    return heard


def test_the_steps_are_those_a_teacher_takes() -> None:
    """From everything to silence, and the clap again to compare with."""
    assert NAMES == [
        "everything",
        "no clap",
        "you count",
        "click",
        "every other bar silent",
        "silent",
        "clap back",
    ]


@pytest.mark.parametrize(
    ("repeats", "numbers"),
    [
        (1, [0]),
        (2, [0, 6]),
        (3, [0, 3, 6]),
        (4, [0, 2, 4, 6]),
        (5, [0, 2, 3, 5, 6]),
        (7, [0, 1, 2, 3, 4, 5, 6]),
        (13, [0, 1, 1, 2, 2, 3, 3, 4, 4, 5, 5, 6, 6]),
    ],
)
def test_runs_take_the_first_the_last_and_evenly_between(repeats: int, numbers: list[int]) -> None:
    """However many runs there are, one begins with all help and ends with the clap back."""
    assert [step.name for step in steps_for(repeats)] == [NAMES[number] for number in numbers]


def test_each_run_lets_through_what_its_step_says() -> None:
    """Seven runs of two bars of off-beats, layer by layer."""
    timeline = lay_out(passage(*OFF_BEATS), Practice(repeats=7))
    plan = plan_track(timeline, Wishes(fade=True))
    clap = ["1:1", "1:2&", "2:1&"]
    beats = ["1:1", "1:2", "2:1", "2:2"]
    spoken = ["1:1", "1:2", "1:2&", "2:1", "2:1&", "2:2"]
    assert [faded(plan, run) for run in range(1, 8)] == [
        {Layer.CLAP: clap, Layer.CLICK: beats, Layer.COUNT: spoken},
        {Layer.CLICK: beats, Layer.COUNT: spoken},
        {Layer.CLICK: beats, Layer.COUNT: beats},
        {Layer.CLICK: beats},
        {Layer.CLICK: beats[:2]},
        {},
        {Layer.CLAP: clap, Layer.CLICK: beats},
    ]


def test_without_fading_every_run_has_everything() -> None:
    """Help only thins when asked."""
    plan = plan_track(lay_out(passage(*OFF_BEATS), Practice(repeats=3)))
    assert faded(plan, 1) == faded(plan, 2) == faded(plan, 3)


def test_fading_never_says_more_than_was_asked() -> None:
    """Who wants beats alone hears beats alone from the beginning."""
    plan = plan_track(lay_out(passage(*OFF_BEATS)), Wishes(say=Say.BEATS, fade=True))
    assert faded(plan, 1)[Layer.COUNT] == ["1:1", "1:2", "2:1", "2:2"]


def test_the_cue_never_fades() -> None:
    """The other player goes on playing: it is what one listens for."""
    cue = (bar(1, 0, 1, metre="2/4"), bar(2, 1, metre="2/4"))
    timeline = lay_out(passage(*OFF_BEATS, cue=cue), Practice(repeats=7))
    plan = plan_track(timeline, Wishes(frozenset(Layer), fade=True))
    assert all(faded(plan, run)[Layer.CUE] == ["1:1", "1:2", "2:2"] for run in range(1, 8))
    assert faded(plan, 6).keys() == {Layer.CUE}


def test_an_upbeat_belongs_to_the_first_bar_when_every_other_is_silent() -> None:
    """Help sounds from the upbeat to the end of bar 1, then bar 2 is silent."""
    piece = passage(bar(0, 3, begins=3), bar(1, 0), bar(2, 0), bar(3, 0))
    only = (HELP_STEPS[4],)
    plan = plan_track(lay_out(piece), Wishes(steps=only))
    assert {each.bar for each in plan.prompts} == {0, 1, 3}


def test_a_track_without_layers_or_steps_is_refused() -> None:
    """Silence is hardly what was meant."""
    with pytest.raises(RequestError, match="no layers"):
        Wishes(frozenset())
    with pytest.raises(RequestError, match="at least one step"):
        Wishes(steps=())


@pytest.mark.parametrize("clicks", [0, -1, 13])
def test_a_number_of_clicks_that_nobody_can_follow_is_refused(clicks: int) -> None:
    """The sentence says what is allowed."""
    with pytest.raises(RequestError, match="1 to 12 clicks a beat"):
        Wishes(subdivide=clicks)


def test_an_unknown_counting_system_is_refused() -> None:
    """With the names of those that there are."""
    with pytest.raises(RequestError, match="numbers, takadimi"):
        replace(Wishes(), counting="letters")
