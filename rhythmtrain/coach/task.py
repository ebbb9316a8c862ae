"""One task of a session, what became of it, and the detour through bars that failed."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from rhythmtrain.coach.help import next_help
from rhythmtrain.coach.passing import slower
from rhythmtrain.coach.settings import USUAL, Settings
from rhythmtrain.coach.stages import HELPS_ALONE, Outline, Stage
from rhythmtrain.units import Bpm

WIDEST = 3
FIRST = 2


class Reason(StrEnum):
    """Why a task comes next."""

    BEGIN = "begin"
    GO_ON = "go on"
    IN_ORDER = "in order"
    AGAIN = "again"
    LESS_HELP = "less help"
    MORE_HELP = "more help"
    ALONE = "alone"
    SLOWER = "slower still"
    CONTEXT = "context"
    WHOLE = "whole"
    ALL_SLOWER = "all slower"
    FASTER = "faster"
    FULL = "full tempo"
    SLOW_TURN = "slow turn"
    END_WELL = "end well"
    HOLD = "hold"


class Over(StrEnum):
    """Why a session is over."""

    DONE = "done"
    LEFT = "left for today"
    SILENT = "nothing heard"
    ENOUGH = "enough"


@dataclass(frozen=True, slots=True)
class Task:
    """One thing to do: ``runs`` times through ``bars`` (none: all) at ``tempo`` beats a minute.

    ``help`` is the step of help where the stage has several, 0 with the most.  On a detour
    ``level`` is how often it was made slower and ``aim`` the task that failed; ``context`` is True
    where the bars stand among their neighbours again.
    """

    stage: Stage
    tempo: Bpm
    runs: int
    reason: Reason
    bars: tuple[int, ...] = ()
    help: int = 0
    level: int = 0
    context: bool = False
    aim: "Task | None" = None

    @property
    def main(self) -> bool:
        """Return whether it is on the main road, not on a detour."""
        return self.aim is None


@dataclass(frozen=True, slots=True)
class Done:
    """A task that was done: ``right`` of ``runs`` times heard, and the bars that failed.

    ``runs`` is 0 where nothing was judged; ``silent`` where it should have been, and nothing came.
    ``failed`` names the bar that failed most often first.
    """

    task: Task
    runs: int = 0
    right: int = 0
    failed: tuple[int, ...] = ()
    silent: bool = False

    def good(self, settings: Settings = USUAL) -> bool:
        """Return whether enough of it went right; what was not judged is good."""
        if self.silent:
            return False
        return self.right >= settings.share * self.runs


def runs_at(outline: Outline, tempo: float, bars: Sequence[int], settings: Settings = USUAL) -> int:
    """Return how often to play ``bars`` (none: all) in one take at ``tempo``."""
    share = len(bars) / len(outline.bars) if bars else 1.0
    run_s = outline.run_s * outline.tempo / tempo * share
    most = settings.runs + 1 if bars else settings.runs
    return min(max(int(settings.take_s // run_s), 1), most)


def detour(last: Done, outline: Outline, settings: Settings = USUAL) -> Task | None:
    """Return the next task of a detour after ``last``, None where the main road goes on."""
    task = last.task
    if task.context or last.silent:
        return None
    if task.main:
        return _off(last, outline, settings)
    if not last.good(settings) and task.level < settings.detours:
        tempo = slower(task.tempo, settings)
        return replace(task, tempo=tempo, level=task.level + 1, reason=Reason.SLOWER)
    around = _around(task.bars, outline.bars)
    if task.aim is None or len(around) == len(set(outline.bars)):
        return None
    runs = runs_at(outline, task.aim.tempo, around, settings)
    return replace(
        task, tempo=task.aim.tempo, bars=around, runs=runs, context=True, reason=Reason.CONTEXT
    )


def _off(last: Done, outline: Outline, settings: Settings) -> Task | None:
    """Return the bars that failed, alone, slower and with more help; the first two where all did."""
    if last.good(settings) or not settings.detours or not last.runs:
        return None
    bars = _worst(last.failed, outline.bars)
    tempo = slower(last.task.tempo, settings)
    runs = runs_at(outline, tempo, bars, settings)
    more = next_help(last.task.help, good=False, steps=HELPS_ALONE)
    return replace(
        last.task, tempo=tempo, bars=bars, runs=runs, level=1, help=more,
        reason=Reason.ALONE, aim=last.task,
    )  # fmt: skip


def _worst(failed: Sequence[int], every: Sequence[int]) -> tuple[int, ...]:
    """Return the bar that failed most often, with those beside it that failed too."""
    if not failed or len(failed) == len(set(every)):
        return tuple(dict.fromkeys(every))[:FIRST]
    low = high = failed[0]
    while high - low + 1 < WIDEST and (low - 1 in failed or high + 1 in failed):
        if high + 1 in failed:
            high += 1
        else:
            low -= 1
    return tuple(range(low, high + 1))


def _around(bars: Sequence[int], every: Sequence[int]) -> tuple[int, ...]:
    """Return ``bars`` with the one before and the one after, as far as there are any."""
    wide = range(min(bars) - 1, max(bars) + 2)
    return tuple(bar for bar in sorted(set(every)) if bar in wide)
