"""One session with a passage: step by step in the teacher's order, each chosen from what was heard.

Between two steps a page says what was heard, what comes next and why, and waits for the player.  A
session ends when its minutes are over, when the passage stands at its tempo, when more would not
help today, or on Escape; every take is kept, and the next session begins there.
"""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

from rhythmtrain.coach.evidence import Practised
from rhythmtrain.coach.next_task import next_task
from rhythmtrain.coach.session import Session, climbing_rows
from rhythmtrain.coach.settings import Order, Settings
from rhythmtrain.coach.skill import PassageState, state_of
from rhythmtrain.coach.task import Done, Over, Task
from rhythmtrain.rehearsal.live.stage import NoStage, Stage
from rhythmtrain.rehearsal.passages.passages import wished_passage
from rhythmtrain.rehearsal.practising.history import earlier_runs
from rhythmtrain.rehearsal.practising.machine import Machine, machine_for
from rhythmtrain.rehearsal.practising.rounds import material_of
from rhythmtrain.rehearsal.practising.settings import practice_settings
from rhythmtrain.rehearsal.practising.sitting import MINUTE_S, TIME, Sitting
from rhythmtrain.rehearsal.practising.steps import Doing, StepDone
from rhythmtrain.rehearsal.practising.wish import TIME_IS_UP, Means, PractiseWish, means_of
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.remedies import option
from rhythmtrain.report.practising.how import (
    title_in_words,
)
from rhythmtrain.report.practising.text import StepTold, session_text
from rhythmtrain.report.practising.words import (
    over_in_words,
    result_in_words,
)

YOU_STOPPED = "You stopped here."
GOES_ON = "Next time it goes on with: {title}, {pace}."
REACHED = "It stands at {tempo:g} beats a minute; written is {written:g}."
CLAPPED = (
    f"All of it is clapped; with {option('instrument', 'clarinet')} it is sung and played too."
)
LADDER_CLAPPED = (
    "Keys do not hear your {name}, so what has to be heard is clapped; "
    f"{option('from', 'mic')} hears it played."
)


def practise(
    wish: PractiseWish, stage: Stage | None = None, machine: Machine | None = None
) -> Told:
    """Lead through one session, and return what was done and where it goes on.

    ``machine`` are the devices; where none are given, those that ``wish`` asks for.

    Raises:
        RequestError: options that do not go together, a setting out of range.
        DeviceError, MissingPartError: a device is missing.
        DrillError, FileError: the passage, the settings or the history do not read.
    """
    means = means_of(wish)
    said: list[str] = []
    passage = wished_passage(wish, said.append)
    settings = _settings(wish)
    material = material_of(passage, means, language=wish.language, voice=wish.voice)
    machine = machine or machine_for(wish, means)
    before = earlier_runs(wish, say=said.append) if machine.keeps else ()
    day = datetime.now(UTC).astimezone().date()
    sitting = Sitting(
        Doing(wish, material, settings, stage or NoStage(), machine),
        Session(material.outline, day, before, (), settings),
    )
    over = sitting.go()
    warnings = [
        *said,
        *_of_means(means),
        *(each for step in sitting.steps for each in step.warnings),
    ]
    return replace(_told(sitting, over), warnings=tuple(dict.fromkeys(warnings)))


def _settings(wish: PractiseWish) -> Settings:
    settings = practice_settings()
    return settings if wish.order is None else replace(settings, order=Order(wish.order))


def _of_means(means: Means) -> tuple[str, ...]:
    """Return what is to be said once of what listens."""
    if means.instrument is None:
        return (CLAPPED,)
    return () if means.instrument_heard else (LADDER_CLAPPED.format(name=means.instrument.name),)


def _told(sitting: Sitting, over: str | Over) -> Told:
    wish, passage = sitting.doing.wish, sitting.doing.material.passage
    state = state_now(sitting.session)
    coming = next_time(sitting.session)
    gone = sitting.steps[-1].gone if sitting.steps else ""
    ended = [gone or _ended(over, wish)]
    if state.reached is not None and not state.at_tempo:
        ended.append(REACHED.format(tempo=state.reached, written=state.tempo))
    if isinstance(coming, Task):
        ended.append(GOES_ON.format(title=title_in_words(coming), pace=sitting.pace(coming)))
    steps = [
        StepTold(
            title_in_words(each.done.task),
            f"{sitting.pace(each.done.task)}: {result_in_words(each.done)}",
        )
        for each in sitting.steps
    ]
    command = wish.typed_again
    text = session_text((passage.title, _head(sitting)), steps, ended, command)
    document: dict[str, Any] = {
        "passage": passage.title,
        "bars": wish.bars,
        "order": sitting.session.settings.order.value,
        "minutes": wish.minutes,
        "spent_s": sitting.spent_s,
        "steps": [_document(each) for each in sitting.steps],
        "over": over.name.lower() if isinstance(over, Over) else over,
        "reached": state.reached,
        "next": _next_document(coming),
        "command": command,
        "dry_run": wish.dry_run,
    }
    return Told(text, document)


def state_now(session: Session) -> PassageState:
    """Return what the player can do of the passage, with what was heard in the session."""
    runs = tuple(row.as_runs for row in climbing_rows(session))
    practised = Practised("", "", session.outline.tempo, runs)
    return state_of(practised, session.day, session.settings)


def next_time(session: Session) -> Task | Over:
    """Return what the next session begins with, once it was listened to again."""
    fresh = replace(session, before=session.rows, done=())
    listen = next_task(fresh)
    if isinstance(listen, Over):
        return listen
    return next_task(replace(fresh, done=(Done(listen),)))


def _head(sitting: Sitting) -> str:
    minutes = round(sitting.spent_s / MINUTE_S)
    how = ", an invented player" if sitting.doing.wish.dry_run else ""
    return f"{minutes or 'less than one'} minute{'' if minutes == 1 or not minutes else 's'}{how}"


def _ended(over: str | Over, wish: PractiseWish) -> str:
    if isinstance(over, Over):
        return over_in_words(over)
    return TIME_IS_UP.format(minutes=wish.minutes) if over == TIME else YOU_STOPPED


def _document(step: StepDone) -> dict[str, Any]:
    task = step.done.task
    return {
        "step": task.stage.name.lower(),
        "bars": list(task.bars),
        "tempo": task.tempo,
        "help": task.help,
        "why": task.reason.value,
        "runs": step.done.runs,
        "right": step.done.right,
        "failed_bars": list(step.done.failed),
        "judged": bool(step.done.runs),
        "heard": list(step.said),
        "kept_as": step.kept.number,
    }


def _next_document(coming: Task | Over) -> dict[str, Any] | None:
    if isinstance(coming, Over):
        return None
    return {"step": coming.stage.name.lower(), "bars": list(coming.bars), "tempo": coming.tempo}
