"""A session so far: what there is to do, what was heard on earlier days, and what is done."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from itertools import takewhile

from rhythmtrain.coach.passing import same
from rhythmtrain.coach.settings import USUAL, Settings
from rhythmtrain.coach.stages import HELPS_ALONE, Outline, Stage, StageRuns
from rhythmtrain.coach.task import Done

LEAST_HELP = HELPS_ALONE - 1


@dataclass(frozen=True, slots=True)
class Session:
    """A session so far: what there is to do, what was heard before it, and what is done."""

    outline: Outline
    day: date
    before: tuple[StageRuns, ...] = ()
    done: tuple[Done, ...] = ()
    settings: Settings = USUAL

    @property
    def rows(self) -> tuple[StageRuns, ...]:
        """Return all that was heard on the main road, before and in this session."""
        main = [each for each in self.done if each.task.main and each.runs]
        here = [
            StageRuns(
                each.task.stage, self.day, each.task.tempo, each.runs, each.right, each.task.help
            )
            for each in main
        ]
        return (*self.before, *here)

    def main_at(self, stage: Stage) -> tuple[Done, ...]:
        """Return what was done of ``stage`` on the main road in this session."""
        return tuple(each for each in self.done if each.task.main and each.task.stage is stage)

    def vain(self, stage: Stage, tempo: float) -> int:
        """Return how many attempts at all of ``stage`` at ``tempo`` went wrong since a good one."""
        at_it = [each for each in self.main_at(stage) if same(each.task.tempo, tempo)]
        wrong = takewhile(lambda each: not each.good(self.settings), reversed(at_it))
        return sum(1 for _ in wrong)


def climbing_rows(session: Session) -> Iterator[StageRuns]:
    """Yield what counts for the ladder: the ladder itself, and all that was done as on it."""
    instrument = Stage.AS_WRITTEN in session.outline.heard
    for row in session.rows:
        as_on_it = row.stage is Stage.ALONE and row.help == LEAST_HELP and not instrument
        if row.stage in (Stage.LADDER, Stage.AS_WRITTEN) or as_on_it:
            yield row
