"""How help thins at an entry, and that nothing is ever spoken on it."""

import pytest

from rhythmtrain.prompts.entry_help import WITH_ACCOMPANIST, WITH_CLICK, entry_steps
from rhythmtrain.prompts.fading import HelpStep
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.passages import bar, passage

LAYERS = frozenset({Layer.CLICK, Layer.COUNT, Layer.CUE})
SAYS_READY = "ready"


def _plan(step: HelpStep, tempo: float = 72) -> Plan:
    rests = [bar(number, metre="2/4") for number in range(1, 5)]
    piece = passage(*rests, bar(5, "1/2", "1", metre="2/4"), tempo=tempo)
    return plan_track(lay_out(piece, Practice(count_in=1)), Wishes(layers=LAYERS, steps=(step,)))


def _said(plan: Plan) -> list[str]:
    return [each.text for each in plan.prompts if each.layer is Layer.COUNT and each.repeat]


def test_at_first_the_rests_are_counted_aloud_bar_by_bar() -> None:
    """As one learns to count them: "1 2, 2 2, 3 2"."""
    assert _said(_plan(WITH_ACCOMPANIST[0]))[:6] == ["1", "2", "2", "2", "3", "2"]


def test_the_word_of_preparation_is_the_last_help_to_go() -> None:
    """Breathing before the entry is part of coming in."""
    for steps in (WITH_ACCOMPANIST, WITH_CLICK):
        ready = [SAYS_READY in _said(_plan(step)) for step in steps]
        assert ready == [True] * (len(steps) - 1) + [False]
    assert _said(_plan(WITH_ACCOMPANIST[-2])) == [SAYS_READY]


def test_less_is_heard_at_every_step() -> None:
    """Help that does not thin is leaned on."""
    for steps in (WITH_ACCOMPANIST, WITH_CLICK):
        sounding = [len(_plan(step).prompts) for step in steps]
        assert sounding == sorted(sounding, reverse=True)
        assert len(set(sounding)) == len(sounding)


def test_without_an_accompanist_the_click_is_never_taken_away() -> None:
    """Coming in to nothing at all cannot be right or wrong."""
    clicks = [each for each in _plan(WITH_CLICK[-1]).prompts if each.layer is Layer.CLICK]
    assert len([each for each in clicks if each.repeat]) == 10
    assert entry_steps(accompanied=False) is WITH_CLICK
    assert entry_steps(accompanied=True) is WITH_ACCOMPANIST


@pytest.mark.parametrize("tempo", [40, 72, 132, 200])
@pytest.mark.parametrize("step", [*WITH_ACCOMPANIST, WITH_CLICK[-1]], ids=lambda step: step.name)
def test_no_word_falls_on_the_entry(step: HelpStep, tempo: float) -> None:
    """Whoever comes in hears only themselves."""
    plan = _plan(step, tempo)
    (entry_s,) = plan.entries_s
    words = [each.time_s for each in plan.prompts if each.layer is Layer.COUNT]
    assert not [time for time in words if entry_s - 0.249 < time < entry_s + 0.099]
