"""The next thing to do in a session: a function of what was done so far, and of earlier days.

The main road runs through the steps (``stages``), each until its share of right runs is surely
enough; then up the ladder.  Where a step fails, a detour leads off it: the bars that failed, alone
and slower, slower once more where that fails too, then with the bars beside them, then back to
all of it.  The best of the pianists watched by Duke, Simmons and Cash (2009) did so.  After some
vain attempts everything becomes slower; after some more it is left for the day, because a night
does more than another round (Simmons 2012).

There are at most ``Settings.most`` tasks, so every session ends.
"""

from rhythmtrain.coach.climbing import Climb, next_climb
from rhythmtrain.coach.passing import SAME
from rhythmtrain.coach.road import help_now, slow_tempo, stage_now, stands
from rhythmtrain.coach.session import Session, climbing_rows
from rhythmtrain.coach.stages import Stage
from rhythmtrain.coach.task import Over, Reason, Task, detour, runs_at
from rhythmtrain.units import Bpm

SILENT = 2


def next_task(session: Session) -> Task | Over:
    """Return what to do next, or why the session is over."""
    over = _over(session)
    if over is not None:
        return over
    last = session.done[-1] if session.done else None
    if last is not None and last.task.stage is not Stage.COME_IN:
        off = detour(last, session.outline, session.settings)
        if off is not None:
            return off
    slow = slow_tempo(session)
    return Over.LEFT if slow is None else _onward(session, slow)


def _over(session: Session) -> Over | None:
    """Return why no more is to be done, whatever stands next."""
    done = session.done
    if len(done) >= SILENT and all(each.silent for each in done[-SILENT:]):
        return Over.SILENT
    if done and done[-1].task.reason is Reason.END_WELL:
        return Over.LEFT
    return Over.ENOUGH if len(done) >= session.settings.most else None


def _onward(session: Session, slow: Bpm) -> Task | Over:
    """Return the next task on the main road."""
    stage = stage_now(session, slow)
    if stage is Stage.LADDER:
        return _climb(session, slow)
    if stage is Stage.COME_IN:
        return _entry(session, slow)
    step = help_now(session) if stage is Stage.ALONE else 0
    return _task(session, stage, slow, step=step)


def _task(session: Session, stage: Stage, tempo: Bpm, *, step: int = 0) -> Task:
    heard = stage in session.outline.heard
    shown = tempo / 2 if stage is Stage.ECHO else tempo  # heard, then played: twice as long
    runs = runs_at(session.outline, shown, (), session.settings) if heard else 1
    return Task(stage, tempo, runs, _reason(session, stage, tempo, step), help=step)


def _reason(session: Session, stage: Stage, tempo: float, step: int) -> Reason:
    """Return why all of a step is done now."""
    here = session.main_at(stage)
    if not session.done:
        return Reason.GO_ON if session.before else Reason.BEGIN
    if not here:
        return Reason.IN_ORDER
    last = here[-1].task
    if tempo * SAME < last.tempo:
        return Reason.ALL_SLOWER
    if step != last.help:
        return Reason.LESS_HELP if step > last.help else Reason.MORE_HELP
    return Reason.AGAIN if session.done[-1].task.main else Reason.WHOLE


def _entry(session: Session, slow: Bpm) -> Task:
    """Return the entry, slow first, then at its tempo."""
    full = Bpm(float(session.outline.tempo))
    rows = [row for row in session.rows if row.stage is Stage.COME_IN]
    ready = bool(session.main_at(Stage.COME_IN)) or stands(session, rows, slow)
    tempo = full if ready else slow
    reason = Reason.FULL if ready else Reason.IN_ORDER
    return Task(Stage.COME_IN, tempo, session.settings.tries, reason)


def _climb(session: Session, slow: Bpm) -> Task | Over:
    """Return the next task on the ladder."""
    climb = next_climb(
        Climb(
            session.outline.tempo,
            slow,
            tuple(row.as_runs for row in climbing_rows(session)),
            tuple(
                (each.task.tempo, each.good(session.settings))
                for each in session.main_at(Stage.LADDER)
            ),
            session.day,
        ),
        session.settings,
    )
    if isinstance(climb, Over):
        if climb is not Over.DONE or any(each.runs for each in session.done):
            return climb
        climb = Bpm(float(session.outline.tempo)), Reason.HOLD
    tempo, reason = climb
    if reason is Reason.AGAIN and not session.done[-1].task.main:
        reason = Reason.WHOLE
    runs = runs_at(session.outline, tempo, (), session.settings)
    return Task(Stage.LADDER, tempo, runs, reason)
