"""What the history knows of a passage, step by step, so that a session begins where the last ended.

A take tells which step it belongs to by what helped and what was listened for.  Single runs count,
not takes.
"""

from collections.abc import Callable, Iterable, Iterator
from datetime import date

from rhythmtrain.assess.findings import Verdict
from rhythmtrain.coach.stages import Stage, StageRuns
from rhythmtrain.prompts.entry_help import WITH_ACCOMPANIST, WITH_CLICK
from rhythmtrain.rehearsal.checking.keeping import known_as
from rhythmtrain.rehearsal.practising.kept import kept_runs
from rhythmtrain.rehearsal.practising.rounds import (
    ALONE_BEFORE_MIC,
    ALONE_STEPS,
    CLICK,
    ECHO_STEP,
    EVERYTHING,
    HALF_COUNTED,
    ONE_NOTE,
    SUNG,
    YOU_COUNT,
)
from rhythmtrain.rehearsal.practising.wish import PractiseWish
from rhythmtrain.storage.history.history import KeptTake, open_history

MOST_TAKES = 120
COME_IN_ALONE = {WITH_ACCOMPANIST[-1].name, WITH_CLICK[-1].name}


def earlier_runs(wish: PractiseWish, *, say: Callable[[str], None]) -> tuple[StageRuns, ...]:
    """Return what was heard of the passage in earlier takes, the first one first.

    ``say`` is given a sentence where the history was damaged and had to be mended.

    Raises:
        FileError: the history cannot be read.
    """
    with open_history(say=say) as history:
        takes = list(history.takes(known_as(wish.passage), limit=MOST_TAKES))
    ours = [take for take in reversed(takes) if take.record.bars == wish.bars]
    return tuple(_rows(ours))


def _rows(takes: Iterable[KeptTake]) -> Iterator[StageRuns]:
    for take in takes:
        record = take.record
        where = STEPS.get((record.help or "", record.instrument == "claps"))
        tempo = record.document.get("tempo")
        if where is not None and isinstance(tempo, int | float) and tempo > 0:
            runs, right = _come_in(take) if where[0] is Stage.COME_IN else kept_runs(take)
            if runs:
                day = date.fromisoformat(record.day)
                yield StageRuns(where[0], day, tempo * record.speed, runs, right, where[1])


def _come_in(take: KeptTake) -> tuple[int, int]:
    """Return (1, whether the entry came in time), or nothing where there was none."""
    entries = take.record.document.get("entries") or []
    verdicts = [each.get("verdict") for each in entries if isinstance(each, dict)]
    return (1, int(verdicts[0] == Verdict.IN_TIME)) if verdicts else (0, 0)


def _steps() -> Iterator[tuple[tuple[str, bool], tuple[Stage, int]]]:
    """Yield (what helped, whether it was clapped) with its step and help, whoever listened."""
    for clapped in (True, False):
        yield from (((name, clapped), (Stage.COME_IN, 0)) for name in COME_IN_ALONE)
    for steps in (ALONE_STEPS, ALONE_BEFORE_MIC):
        yield from (((step.name, True), (Stage.ALONE, n)) for n, step in enumerate(steps))
    for step in (CLICK, YOU_COUNT, HALF_COUNTED):
        yield (step.name, False), (Stage.LADDER, 0)
        yield (f"{step.name}{SUNG}", False), (Stage.SING, 0)
        yield (f"{step.name}{ONE_NOTE}", False), (Stage.ONE_NOTE, 0)
    yield (ECHO_STEP.name, True), (Stage.ECHO, 0)
    yield (EVERYTHING.name, True), (Stage.WITH_HELP, 0)


STEPS = dict(_steps())
