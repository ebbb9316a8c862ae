"""Students of known skill, for whom a session is a matter of chance and not of sound.

A student has for every task and bar a probability to get it right; a run is right when all its
bars are.  ``practised`` leads one through a session by a clock that is reckoned, not waited for.
"""

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from random import Random

from rhythmtrain.coach.next_task import next_task
from rhythmtrain.coach.session import Session
from rhythmtrain.coach.task import Done, Over, Task

READ_S = 8.0
Skill = Callable[[Task, int], float]


@dataclass(frozen=True)
class Student:
    """A student who gets a bar of a task right with probability ``skill(task, bar)``."""

    skill: Skill
    seed: int = 0


PERFECT = Student(lambda _task, _bar: 1.0)
HOPELESS = Student(lambda _task, _bar: 0.0)


@dataclass(frozen=True)
class Sat:
    """A session as it went, and how long it took."""

    session: Session
    seconds: float

    @property
    def done(self) -> tuple[Done, ...]:
        """Return what was done."""
        return self.session.done


def practised(session: Session, student: Student, *, minutes: float) -> Sat:
    """Return the session as ``student`` goes through it, at most so many minutes long."""
    random = Random(student.seed)  # noqa: S311  (no secret)
    seconds = 0.0
    while seconds < minutes * 60:
        task = next_task(session)
        if isinstance(task, Over):
            break
        session = replace(session, done=(*session.done, played(task, session, student, random)))
        seconds += READ_S + task.runs * _run_s(task, session)
    return Sat(session, seconds)


def played(task: Task, session: Session, student: Student, random: Random) -> Done:
    """Return how ``student`` played ``task``."""
    if task.stage not in session.outline.heard:
        return Done(task)
    bars = task.bars or session.outline.bars
    failed: Counter[int] = Counter()
    right = 0
    for _ in range(task.runs):
        slips = [bar for bar in bars if random.random() >= student.skill(task, bar)]
        failed.update(slips)
        right += not slips
    return Done(task, task.runs, right, tuple(bar for bar, _ in failed.most_common()))


def _run_s(task: Task, session: Session) -> float:
    outline = session.outline
    share = len(task.bars) / len(outline.bars) if task.bars else 1.0
    return outline.run_s * outline.tempo / task.tempo * share
