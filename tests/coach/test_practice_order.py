"""The practice order: everything at the slowest tempo, then only clapping, tempo by tempo."""

from rhythmtrain.coach.practice_order import Step, practice_order
from rhythmtrain.units import Bpm


def test_one_hears_it_before_one_claps_it() -> None:
    """A player who claps before having heard the rhythm learns it wrong."""
    order = [step for step, _ in practice_order((Bpm(36.0),))]
    assert order == [Step.LISTEN, Step.ECHO, Step.WITH_HELP, Step.ALONE]


def test_faster_tempi_are_clapped_with_help_and_alone() -> None:
    """Once the rhythm is known, a faster tempo needs no listening and no echo."""
    order = list(practice_order((Bpm(36.0), Bpm(40.0), Bpm(44.0))))[4:]
    assert order == [
        (Step.WITH_HELP, 40.0),
        (Step.ALONE, 40.0),
        (Step.WITH_HELP, 44.0),
        (Step.ALONE, 44.0),
    ]
