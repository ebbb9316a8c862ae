"""How help fades from one run of a passage to the next: one table.

Help that is always there is leaned on, and what was practised with it falls apart without it
(Schmidt et al. 1989; Winstein, Pohl & Lewthwaite 1994), so it thins over the runs.  What comes
last is the clap again, to compare with.  The order of the steps is teachers' custom.

The cue and the accompaniment are the other player, not help: they never fade.
"""

from dataclasses import dataclass
from enum import StrEnum

from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.say import Say


class Silence(StrEnum):
    """Which bars of a run are left without help."""

    NONE = "none"
    EVERY_OTHER = "every other"
    ALL = "all"


@dataclass(frozen=True, slots=True)
class HelpStep:
    """One amount of help: the layers that sound, the most that is said, which bars are silent.

    ``say`` is None where no count is spoken.  ``prepares`` tells whether "ready" is still said
    before an entry; it may outlast the count.
    """

    name: str
    layers: frozenset[Layer]
    say: Say | None = None
    silence: Silence = Silence.NONE
    prepares: bool = False


RHYTHM = frozenset({Layer.TUNE, Layer.CLAP})
BEAT = frozenset({Layer.CLICK, Layer.COUNT})
CLICK = frozenset({Layer.CLICK})
NEVER_FADES = frozenset({Layer.CUE, Layer.ACCOMPANIMENT})

HELP_STEPS: tuple[HelpStep, ...] = (
    HelpStep("everything", RHYTHM | BEAT, Say.ALL, prepares=True),
    HelpStep("no clap", BEAT, Say.ALL, prepares=True),
    HelpStep("you count", BEAT, Say.BEATS, prepares=True),
    HelpStep("click", CLICK),
    HelpStep("every other bar silent", CLICK, silence=Silence.EVERY_OTHER),
    HelpStep("silent", frozenset(), silence=Silence.ALL),
    HelpStep("clap back", RHYTHM | CLICK),
)


def steps_for(repeats: int, steps: tuple[HelpStep, ...] = HELP_STEPS) -> tuple[HelpStep, ...]:
    """Return the step of each of ``repeats`` runs: the first, the last, and evenly between.

    A single run has everything.  With more runs than steps, steps last for several runs.
    """
    if repeats == 1:
        return steps[:1]
    span, gaps = len(steps) - 1, repeats - 1
    return tuple(steps[(2 * run * span + gaps) // (2 * gaps)] for run in range(repeats))
