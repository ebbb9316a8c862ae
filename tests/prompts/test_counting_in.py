"""The count-in: whole bars, up to the upbeat, or quick."""

import pytest

from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.score.metre import Metre
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.passages import bar, passage


def counted(plan: Plan) -> list[tuple[float, str]]:
    """Return (second, word) of what is said before the passage."""
    return [
        (round(each.time_s, 6), each.text)
        for each in plan.prompts
        if each.layer is Layer.COUNT and each.time_s < plan.count_in_s
    ]


def quick(metre: str, **kind: str) -> list[tuple[float, str]]:
    """Return what a quick count-in says in ``metre``, at a second a beat."""
    piece = passage(bar(1, 0, metre=Metre.parse(metre, **kind)))
    return counted(plan_track(lay_out(piece, Practice(count_in=2)), Wishes(quick=True)))


def test_a_bar_of_four_is_counted_whole() -> None:
    """1 2 3 4, at the tempo that follows; bar 0, repeat 0."""
    plan = plan_track(lay_out(passage(bar(1, 0)), Practice(count_in=1)))
    assert counted(plan) == [(0, "1"), (1, "2"), (2, "3"), (3, "4")]
    assert {(each.bar, each.repeat) for each in plan.prompts if each.time_s < 4} == {(0, 0)}


def test_the_count_stops_where_an_upbeat_begins() -> None:
    """Common practice: with an upbeat on 4, "1 2 3" and in."""
    plan = plan_track(lay_out(passage(bar(0, 3, begins=3), bar(1, 0)), Practice(count_in=1)))
    assert counted(plan) == [(0, "1"), (1, "2"), (2, "3")]
    assert float(plan.count_in_s) == 3
    assert next(float(p.time_s) for p in plan.prompts if p.layer is Layer.CLAP) == 3


def test_an_upbeat_inside_a_beat_is_led_to_by_that_beat() -> None:
    """With an upbeat on the and of 4 the 4 is still counted."""
    upbeat = bar(0, "7/2", begins="7/2")
    plan = plan_track(lay_out(passage(upbeat, bar(1, 0)), Practice(count_in=1)))
    assert counted(plan) == [(0, "1"), (1, "2"), (2, "3"), (3, "4")]
    assert float(plan.count_in_s) == 3.5


def test_a_whole_counted_bar_separates_runs_of_a_phrase_with_an_upbeat() -> None:
    """Time to breathe, without losing the beat; counted aloud however far help has faded."""
    phrase = passage(bar(0, 3, begins=3), bar(1, 0))
    timeline = lay_out(phrase, Practice(repeats=7))
    plan = plan_track(timeline, Wishes(fade=True))
    between = [each for each in plan.prompts if each.layer is Layer.COUNT and each.bar == 0]
    aloud = [(each.text, each.repeat) for each in between if each.count != "4"]
    assert aloud == [(word, run) for run in range(2, 8) for word in ("1", "2", "3")]


def test_quick_says_one_two_one_two_three_four() -> None:
    """Half notes, then quarters: labels at beats 0 2 4 5 6 7 (encyclopaedia, "Count off")."""
    assert quick("4/4") == [(0, "1"), (2, "2"), (4, "1"), (5, "2"), (6, "3"), (7, "4")]


@pytest.mark.parametrize(
    ("metre", "kind", "first_bar"),
    [
        ("3/4", {}, [(0, "1")]),
        ("2/4", {}, [(0, "1")]),
        ("6/8", {}, [(0, "1")]),
        ("12/8", {}, [(0, "1"), (2, "2")]),
        ("6/4", {}, [(0, "1"), (3, "2")]),
        ("3+2/4", {}, [(0, "1"), (3, "2")]),
        ("2+2+3/8", {"beat": "group"}, [(0, "1"), (2, "2"), (4, "3")]),
    ],
)
def test_quick_counts_the_halves_or_groups_of_other_metres(
    metre: str, kind: dict[str, str], first_bar: list[tuple[float, str]]
) -> None:
    """Where a bar has no halves, "one" stands for the whole of it."""
    assert quick(metre, **kind)[: len(first_bar)] == first_bar
    assert quick(metre, **kind)[len(first_bar)][1] == "1"


def test_quick_with_an_upbeat_still_stops_at_it() -> None:
    """One, two, one two three, and in."""
    piece = passage(bar(0, 3, begins=3), bar(1, 0))
    plan = plan_track(lay_out(piece, Practice(count_in=2)), Wishes(quick=True))
    assert [word for _, word in counted(plan)] == ["1", "2", "1", "2", "3"]


def test_a_single_bar_cannot_be_counted_quickly() -> None:
    """With one bar of count-in there is no slow half to leave out."""
    plan = plan_track(lay_out(passage(bar(1, 0)), Practice(count_in=1)), Wishes(quick=True))
    assert [word for _, word in counted(plan)] == ["1", "2", "3", "4"]


@pytest.mark.parametrize(
    ("layers", "heard"),
    [
        ({Layer.CLAP}, {Layer.COUNT}),
        ({Layer.CLICK, Layer.CLAP}, {Layer.CLICK}),
        ({Layer.CLICK, Layer.COUNT}, {Layer.CLICK, Layer.COUNT}),
    ],
)
def test_the_count_in_is_always_heard(layers: set[Layer], heard: set[Layer]) -> None:
    """Claps alone would leave the player without a beginning."""
    timeline = lay_out(passage(bar(1, 0)), Practice(count_in=1))
    plan = plan_track(timeline, Wishes(layers=frozenset(layers)))
    assert {each.layer for each in plan.prompts if each.time_s < plan.count_in_s} == heard
