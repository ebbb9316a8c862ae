"""The steps of a session in the teacher's order, and what is known of each from earlier.

Listen; echo; count aloud and clap; clap without hearing it; sing on one syllable; play on one
note; play as written, all of it slow; then the ladder of tempi.  Of an entry: hear and sing the
accompanist's line; count the rest; come in.  The order is custom: it puts one difficulty after the
other.

Help thins within a step, and only once the passage goes well (Wulf and Shea 2002: what was found
with simple tasks does not carry over to heavy ones).
"""

from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from rhythmtrain.coach.evidence import Runs
from rhythmtrain.errors import RequestError


class Stage(StrEnum):
    """One step of a session."""

    LISTEN = "listen"
    ECHO = "echo"
    WITH_HELP = "count aloud and clap"
    ALONE = "clap without hearing it"
    SING = "sing it"
    ONE_NOTE = "play it on one note"
    AS_WRITTEN = "play it as written"
    THEIR_LINE = "the accompanist's line"
    COUNT_REST = "count the rest"
    COME_IN = "come in"
    LADDER = "back to tempo"


CLAPPED: tuple[Stage, ...] = (Stage.LISTEN, Stage.ECHO, Stage.WITH_HELP, Stage.ALONE)
PLAYED: tuple[Stage, ...] = (Stage.SING, Stage.ONE_NOTE, Stage.AS_WRITTEN)
ENTERED: tuple[Stage, ...] = (Stage.THEIR_LINE, Stage.COUNT_REST, Stage.COME_IN)
NEVER_HEARD = frozenset({Stage.LISTEN, Stage.COUNT_REST})
# What leads to a step is done when it went well once; the steps themselves want more.
LEADING = frozenset({Stage.ECHO, Stage.SING, Stage.ONE_NOTE, Stage.THEIR_LINE})
HELPS_ALONE = 3


def stages_for(*, instrument: bool, entry: bool, cue: bool) -> tuple[Stage, ...]:
    """Return the steps: with an ``instrument`` or clapped, with an ``entry``, which has a ``cue``."""
    entered = [each for each in ENTERED if entry and (cue or each is not Stage.THEIR_LINE)]
    return (*CLAPPED, *(PLAYED if instrument else ()), *entered, Stage.LADDER)


@dataclass(frozen=True, slots=True)
class Outline:
    """What there is to practise.

    ``tempo`` is the written one in beats a minute, ``run_s`` how long one time through lasts at
    it, ``bars`` the numbers of the bars in playing order.  ``heard`` are the steps whose success
    can be heard with what listens; the others are done once.
    """

    tempo: float
    run_s: float
    bars: tuple[int, ...]
    stages: tuple[Stage, ...]
    heard: frozenset[Stage]

    def __post_init__(self) -> None:
        """Refuse what has nothing to be practised."""
        if not (self.bars and self.stages and self.tempo > 0 and self.run_s > 0):
            raise RequestError("there is nothing to practise: no bar of the passage has a note")


@dataclass(frozen=True, slots=True)
class StageRuns:
    """Of one step on one day at one tempo: ``right`` of ``runs``; ``help`` as in ``Task``."""

    stage: Stage
    day: date
    tempo: float
    runs: int
    right: int
    help: int = 0

    @property
    def as_runs(self) -> Runs:
        """Return them as runs of a passage."""
        return Runs(self.day, self.tempo, self.runs, self.right)
