"""What may sound in each bar of a timeline: the wishes, the step of help and the bar's part in it.

Bars of the count-in and between runs are counted aloud whole, however far the help has faded.
Bars to listen to always give the rhythm; bars for the answer never do.
"""

from dataclasses import dataclass

from rhythmtrain.prompts.fading import (
    BEAT,
    NEVER_FADES,
    RHYTHM,
    HelpStep,
    Silence,
    steps_for,
)
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.say import Say, at_most
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.timing.timeline import PlayedBar, Role, Timeline

COUNTED = (Role.COUNT_IN, Role.BETWEEN)


@dataclass(frozen=True, slots=True)
class Audible:
    """What one bar lets through: its layers, how much is said, whether "ready" is."""

    layers: frozenset[Layer]
    say: Say | None
    prepares: bool


def audible_bars(timeline: Timeline, wishes: Wishes) -> tuple[Audible, ...]:
    """Return what may sound in each bar of ``timeline``, in playing order."""
    repeats = timeline.practice.repeats
    steps = steps_for(repeats, wishes.steps) if wishes.fade else wishes.steps[:1] * repeats
    found = []
    in_run: dict[int, int] = {}
    for played in timeline.bars:
        if played.role in COUNTED:
            found.append(_counted(wishes))
            continue
        step = steps[played.run - 1]
        whole = not played.bar.begins
        in_run[played.run] = in_run.get(played.run, 0) + whole
        found.append(_helped(played, step, wishes, in_run[played.run]))
    return tuple(found)


def _counted(wishes: Wishes) -> Audible:
    layers = wishes.layers & BEAT or frozenset({Layer.COUNT})
    return Audible(layers, Say.BEATS if Layer.COUNT in layers else None, prepares=False)


def _helped(played: PlayedBar, step: HelpStep, wishes: Wishes, place: int) -> Audible:
    """Return what sounds in the ``place``-th whole bar of its run (0: an upbeat)."""
    even = step.silence is Silence.EVERY_OTHER and place > 0 and place % 2 == 0
    silent = even or step.silence is Silence.ALL
    layers = NEVER_FADES if silent else step.layers | NEVER_FADES
    say = None if silent or step.say is None else at_most(wishes.say, step.say)
    if played.role is Role.LISTEN:
        layers |= RHYTHM
    elif played.role is Role.ANSWER:
        layers &= BEAT
        say = say and Say.BEATS
    layers &= wishes.layers
    spoken = Layer.COUNT in wishes.layers
    prepares = step.prepares and wishes.prepare and spoken
    return Audible(layers, say if Layer.COUNT in layers else None, prepares)
