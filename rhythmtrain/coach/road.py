"""The main road of a session: at which step it stands, at what tempo, and with how much help.

A step is behind once its share of right runs is surely enough; what cannot be heard is done once.
Where a later step was passed on an earlier day all before it is skipped, but for listening: so a
session begins where the last one ended.
"""

from collections import defaultdict
from collections.abc import Sequence

from rhythmtrain.coach.help import next_help
from rhythmtrain.coach.ladder import mark_near
from rhythmtrain.coach.passing import SAME, next_tempo, passed, same, slower
from rhythmtrain.coach.session import LEAST_HELP, Session, climbing_rows
from rhythmtrain.coach.stages import HELPS_ALONE, LEADING, Stage, StageRuns
from rhythmtrain.units import Bpm

LOWERED = 1
UNPRESSED = (Stage.COME_IN, Stage.LADDER)


def slow_tempo(session: Session) -> Bpm | None:
    """Return the tempo at which everything is learnt, None where that made slower was in vain too."""
    tempo = next_tempo(session.outline.tempo, None, session.settings)
    stages = [each for each in session.outline.stages if each not in UNPRESSED]
    for _ in range(LOWERED + 1):
        if all(session.vain(each, tempo) < session.settings.lower for each in stages):
            return tempo
        tempo = slower(tempo, session.settings)
    return None


def stage_now(session: Session, slow: float) -> Stage:
    """Return the step that is the next on the main road: the first that is not behind one."""
    stages = session.outline.stages
    behind = [n for n, stage in enumerate(stages) if _passed_before(session, stage, slow)]
    first = max(behind, default=-1) + 1
    for number, stage in enumerate(stages):
        if number < first and stage is not Stage.LISTEN:
            continue
        if stage is Stage.LADDER or not _is_over(session, stage, slow):
            return stage
    return Stage.LADDER


def _passed_before(session: Session, stage: Stage, slow: float) -> bool:
    """Return whether a step, or the same on the ladder, was passed on an earlier day."""
    if stage is Stage.LADDER:
        return False
    rows = [row for row in session.before if row.stage is stage]
    if stage is Stage.COME_IN:
        return stands(session, rows, session.outline.tempo)
    climbed = climbing_rows(session) if stage in (Stage.ALONE, Stage.AS_WRITTEN) else ()
    known = [*rows, *(row for row in climbed if row in session.before and row not in rows)]
    return stands(session, _alone(stage, known), slow)


def _is_over(session: Session, stage: Stage, slow: float) -> bool:
    """Return whether a step needs no more today."""
    here = session.main_at(stage)
    if stage is Stage.COME_IN:
        tempi = (slow, session.outline.tempo)
        done = [any(same(each.task.tempo, tempo) for each in here) for tempo in tempi]
        return done[1] or (done[0] and not here[-1].good(session.settings))
    if stage not in session.outline.heard:
        return bool(here)
    if stage in LEADING:
        return any(each.good(session.settings) for each in here)
    rows = [row for row in session.rows if row.stage is stage]
    return bool(here) and stands(session, _alone(stage, rows), slow)


def _alone(stage: Stage, rows: Sequence[StageRuns]) -> list[StageRuns]:
    """Return the rows that show a step to be passed: where help thins, those with the least."""
    least = LEAST_HELP if stage is Stage.ALONE else 0
    return [row for row in rows if row.help >= least or row.stage is not Stage.ALONE]


def stands(session: Session, rows: Sequence[StageRuns], tempo: float) -> bool:
    """Return whether ``rows`` show that it is passed at ``tempo``, or at any tempo above it.

    Each tempo counts by itself: what goes wrong faster takes nothing from what went right.
    """
    marks: defaultdict[int, list[StageRuns]] = defaultdict(list)
    for row in sorted(rows, key=lambda row: row.day):
        if row.tempo * SAME >= tempo:
            marks[mark_near(row.tempo)].append(row)
    return any(
        passed([(row.day, row.runs, row.right) for row in at_one], session.day, session.settings)
        for at_one in marks.values()
    )


def help_now(session: Session) -> int:
    """Return the step of help with which to clap alone: less after what went well, else more."""
    here = session.main_at(Stage.ALONE)
    if here:
        last = here[-1]
        return next_help(last.task.help, good=last.good(session.settings), steps=HELPS_ALONE)
    steps = [row.help for row in session.before if row.stage is Stage.ALONE]
    return steps[-1] if steps else 0
