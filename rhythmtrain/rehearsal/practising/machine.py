"""What a session is played to and heard with: this machine, or the fakes of a dry run."""

import sys
from collections.abc import Callable
from dataclasses import dataclass

from rhythmtrain.devices.ports import Clock
from rhythmtrain.devices.system_clock import SystemClock
from rhythmtrain.rehearsal.live.beside import Ear
from rhythmtrain.rehearsal.live.dry_run import Player, dry_delay, dry_rig
from rhythmtrain.rehearsal.live.live import Rig
from rhythmtrain.rehearsal.live.rigs import MIC, real_rig
from rhythmtrain.rehearsal.live.sound_delay import kept_delay
from rhythmtrain.rehearsal.live.take import Known
from rhythmtrain.rehearsal.practising.wait import NoWaiting, Waiting, waiting_for
from rhythmtrain.rehearsal.practising.wish import Means, PractiseWish
from rhythmtrain.timing.timeline import Timeline

CLAPS = "claps"
# The invented player of a dry run wears headphones; what is unusual about a task, by its number.
DRY_PLAYERS: dict[int, Player] = {4: Player(slips=3, beside=0.0)}
CAREFUL = Player(beside=0.0)


@dataclass(frozen=True, slots=True)
class Machine:
    """The devices of a session.

    ``rig`` makes those of one take, given its timeline and the number of the task; ``known`` tells
    the sound delay, ``ear`` what to listen for, given the kind of sound; ``keeps`` is whether takes
    go into the history.  ``clock`` tells how long the tries at an entry took; without one that is
    reckoned.
    """

    rig: Callable[[Timeline, int], Rig]
    known: Known
    ear: Callable[[str], Ear]
    waiting: Waiting
    keeps: bool
    clock: Clock | None = None


def machine_for(wish: PractiseWish, means: Means) -> Machine:
    """Return the machine that ``wish`` asks for.

    Raises:
        DeviceError, MissingPartError: a device is missing.
    """
    return dry_machine(means) if wish.dry_run else _real_machine(wish, means)


def dry_machine(means: Means) -> Machine:
    """Return the fakes, on which an invented player claps whatever is asked for."""

    def rig(timeline: Timeline, number: int) -> Rig:
        return dry_rig(timeline, means.taps.kind, DRY_PLAYERS.get(number, CAREFUL))

    return Machine(rig, dry_delay, lambda _kind: Ear(CLAPS), NoWaiting(), keeps=False)


def _real_machine(wish: PractiseWish, means: Means) -> Machine:
    def rig(_timeline: Timeline, _number: int) -> Rig:
        return real_rig(means.taps, wish.loudspeaker)

    def ear(kind: str) -> Ear:
        return Ear(kind, aloud=means.taps.kind == MIC and kind == CLAPS)

    waiting = waiting_for(means.taps, loudspeaker=wish.loudspeaker, typed=sys.stdin.isatty())
    return Machine(rig, kept_delay, ear, waiting, keeps=True, clock=SystemClock())
