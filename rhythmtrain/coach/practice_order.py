"""The order in which a passage is learnt: hear it, echo it, clap it with help, clap it alone, faster.

It is the order of teachers: the whole of it at the slowest tempo, where everything is new, and
then at each faster tempo only what has to be done again, clapping with help and alone.
"""

from collections.abc import Iterator
from enum import StrEnum

from rhythmtrain.units import Bpm


class Step(StrEnum):
    """What is done with a passage at one tempo."""

    LISTEN = "listen"
    ECHO = "echo"
    WITH_HELP = "with help"
    ALONE = "alone"


AT_FIRST: tuple[Step, ...] = tuple(Step)
FASTER: tuple[Step, ...] = (Step.WITH_HELP, Step.ALONE)


def practice_order(tempi: tuple[Bpm, ...]) -> Iterator[tuple[Step, Bpm]]:
    """Yield each step with its tempo, from the first listening to the last clapping alone."""
    for rung, tempo in enumerate(tempi):
        for step in FASTER if rung else AT_FIRST:
            yield step, tempo
