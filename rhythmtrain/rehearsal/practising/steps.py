"""Doing one task of a session: it is played, heard, held against the passage, and kept."""

from dataclasses import dataclass, replace

from rhythmtrain.coach.runs_heard import failed_bars, runs_heard
from rhythmtrain.coach.settings import Settings
from rhythmtrain.coach.stages import Stage as Step
from rhythmtrain.coach.task import Done, Task
from rhythmtrain.devices.ports import How
from rhythmtrain.errors import TakeError
from rhythmtrain.hearing.live.way import Way
from rhythmtrain.rehearsal.checking.checked import Asked, Checked
from rhythmtrain.rehearsal.cueing.followed import with_what_sounds
from rhythmtrain.rehearsal.entering.enter import practise_entry
from rhythmtrain.rehearsal.entering.wish import EnterWish
from rhythmtrain.rehearsal.live.judged import begun, judged_live
from rhythmtrain.rehearsal.live.keeping import NOT_KEPT, Kept, keep_live
from rhythmtrain.rehearsal.live.live import Rig, Shown
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.rigs import MIC, as_typed
from rhythmtrain.rehearsal.live.stage import Stage
from rhythmtrain.rehearsal.live.take import perform
from rhythmtrain.rehearsal.practising.machine import CLAPS, Machine
from rhythmtrain.rehearsal.practising.rounds import Material, Round, kind_of, round_of
from rhythmtrain.rehearsal.practising.wish import PractiseWish
from rhythmtrain.report.practising.how import (
    title_in_words,
)
from rhythmtrain.report.take.troubles import troubles

LAST = "The last try: {went}."
NOT_IT = "That did not sound like this passage."
NOTHING = "Nothing was heard."
UNCHECKED = "Too little of it could be heard: turn the loudspeaker down, or use headphones."
TRY_S = 25.0


@dataclass(frozen=True, slots=True)
class StepDone:
    """A task that was done: ``said`` is what was heard of it.

    ``stopped`` is True where it broke off, ``gone`` the sentence on a device that went away; ``way`` is
    what is known by now of the way from loudspeaker to microphone.
    """

    done: Done
    said: tuple[str, ...] = ()
    kept: Kept = NOT_KEPT
    seconds: float = 0.0
    stopped: bool = False
    gone: str = ""
    warnings: tuple[str, ...] = ()
    way: Way | None = None


@dataclass(frozen=True, slots=True)
class Doing:
    """What every step of a session needs: what is wished, what it is made of, where it is drawn."""

    wish: PractiseWish
    material: Material
    settings: Settings
    stage: Stage
    machine: Machine


def do_task(task: Task, doing: Doing, number: int, *, way: Way | None = None) -> StepDone:
    """Do ``task``, the ``number``-th of the session from 0, and return what became of it.

    ``way`` is what the steps before it taught of the same loudspeaker and microphone.

    Raises:
        DeviceError, MissingPartError: a device is missing.
    """
    if task.stage is Step.COME_IN:
        return _come_in(task, doing, way)
    each = round_of(task, doing.material)
    try:
        performance = perform(
            _rig(each, doing, number),
            each.sounding,
            _shown(each, task, doing),
            known=doing.machine.known,
            ear=doing.machine.ear(each.kind),
            way=way,
        )
    except TakeError:  # stopped before the sound had begun
        return StepDone(Done(task), stopped=True, way=way)
    ended = performance.gathered.ended
    step = StepDone(
        Done(task),
        seconds=performance.gathered.played_s,
        stopped=ended.how is not How.FINISHED,
        gone=_capital(f"{ended.reason}.") if ended.how is How.WENT_AWAY else "",
        warnings=performance.unsaid,
        way=performance.way,
    )
    return _heard(step, performance, each, doing) if each.judged else step


def _heard(step: StepDone, performance: Performance, each: Round, doing: Doing) -> StepDone:
    """Return ``step`` with what was heard of it."""
    task, wish = step.done.task, doing.wish
    if not (performance.take.heard and begun(performance, each.timeline)):
        silent = not step.stopped
        said = performance.unjudged or NOTHING
        return replace(
            step, done=Done(task, silent=silent), said=(*step.said, said) if silent else step.said
        )
    bars = f"{min(task.bars)}-{max(task.bars)}" if task.bars else wish.bars
    live = as_typed(wish.source, each.kind, wish.loudspeaker)
    asked = Asked(wish.passage, bars, each.kind, live=live, part=wish.options)
    timeline = with_what_sounds(each.timeline, each.sounding.plan)
    checked = judged_live(performance, timeline, asked)
    kept = NOT_KEPT
    if doing.machine.keeps:
        keep = replace(wish, bars=bars, kind=each.kind)
        kept = keep_live(checked, keep, helped=each.helped)
    step = replace(step, kept=kept, warnings=(*step.warnings, *kept.warnings))
    runs = runs_heard(checked.timeline, checked.findings, exact=not _at_mic(doing))
    if checked.findings.instead is not None:
        done = Done(task, max(len(runs), 1), 0)
        return replace(step, done=done, said=(*step.said, checked.said.first))
    if not runs:
        said = performance.unjudged or UNCHECKED
        return (
            step
            if step.stopped
            else replace(step, done=Done(task, silent=True), said=(*step.said, said))
        )
    if checked.findings.looks_like is False:
        return replace(step, done=Done(task, len(runs), 0), said=(*step.said, NOT_IT))
    done = Done(task, len(runs), sum(run.right for run in runs), failed_bars(runs))
    return replace(step, done=done, said=(*step.said, *_words(checked, done, doing.settings)))


def _words(checked: Checked, done: Done, settings: Settings) -> tuple[str, ...]:
    """Return one true praise, or the first thing amiss."""
    amiss = troubles(checked.heard)
    if amiss and not done.good(settings):
        return (amiss[0].words,)
    return (checked.said.praise,) if checked.said.praise else ()


def _come_in(task: Task, doing: Doing, way: Way | None) -> StepDone:
    """Practise the entry by its own course, and return how its tries went."""
    wish, clock = doing.wish, doing.machine.clock
    kind = kind_of(task.stage, doing.material.means)
    begun_s = clock.now_s() if clock is not None else 0.0
    told = practise_entry(
        EnterWish(
            wish.passage,
            wish.bars,
            tempo=task.tempo,
            part=wish.part,
            cue_part=wish.cue_part,
            tries=task.runs,
            source=wish.source,
            loudspeaker=wish.loudspeaker,
            kind=doing.machine.ear(kind).kind if _at_mic(doing) else CLAPS,
            language=wish.language,
            voice=wish.voice,
            dry_run=wish.dry_run,
        ),
        doing.stage,
        way=way,
    )
    tries = told.document["tries"]
    good = [each["in_time"] for each in tries]
    quiet = [each["went"] == "not heard" for each in tries]
    learnt = told.document["learnt"]
    silent = bool(quiet) and all(quiet)
    stopped = len(tries) < task.runs and not learnt and not all(quiet[-2:])
    said = (LAST.format(went=tries[-1]["went"]),) if tries else ()
    seconds = TRY_S * len(tries) if clock is None else clock.now_s() - begun_s
    done = Done(task, len(good), sum(good), silent=silent)
    return StepDone(done, said, seconds=seconds, stopped=stopped, warnings=told.warnings, way=way)


def _rig(each: Round, doing: Doing, number: int) -> Rig:
    """Return the devices of a take; of one that nobody judges the microphone is not listened to."""
    rig = doing.machine.rig(each.timeline, number)
    if each.judged or rig.taps is not None or rig.stop is None:
        return rig
    return replace(rig, taps=rig.stop, stop=None)


def _shown(each: Round, task: Task, doing: Doing) -> Shown:
    head = f"{each.timeline.passage.title}: {title_in_words(task)}"
    return Shown(doing.stage, each.timeline, head, ("Escape ends the session.",))


def _at_mic(doing: Doing) -> bool:
    return doing.material.means.taps.kind == MIC


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
