"""How the tries at an entry went: the answer of ``enter``, in words and as a document."""

from dataclasses import dataclass
from typing import Any, Protocol

from rhythmtrain.coach.entry_course import Course, learnt
from rhythmtrain.coach.ladder import next_mark
from rhythmtrain.rehearsal.entering.came import Entered
from rhythmtrain.rehearsal.entering.one_try import Goal
from rhythmtrain.rehearsal.entering.wish import EnterWish
from rhythmtrain.rehearsal.live.keeping import Kept
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.recorded import UnderTries
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.remedies import remedy
from rhythmtrain.report.take.entry_course import TryTold, course_text, entry_in_words, next_command
from rhythmtrain.report.take.text import tempo_in_words
from rhythmtrain.timing.timeline import Timeline


@dataclass(frozen=True, slots=True)
class Made:
    """One try that was made, with what was gathered of it."""

    told: TryTold
    performance: Performance
    timeline: Timeline
    found: Entered
    kept: Kept


class Practised(Protocol):
    """What is told of: an entry, how it was practised, and the tries that were made."""

    wish: EnterWish
    goal: Goal
    speed: float
    course: Course
    recorded: UnderTries | None
    said: list[str]
    made: list[Made]
    broken: str


def told_of(practice: Practised) -> Told:
    """Return how the tries went, and what to type next."""
    goal, wish = practice.goal, practice.wish
    steps = [step.name for step in goal.steps]
    tries = [each.told for each in practice.made]
    entry = entry_in_words(goal.passage, goal.entry)
    document: dict[str, Any] = {
        "passage": goal.passage.title,
        "entry": {"bar": goal.entry.bar, "count": goal.entry.count},
        "speed": practice.speed,
        "timing": "click" if practice.recorded is None else "recording",
        "tries": [_document(each, steps) for each in practice.made],
        "learnt": learnt(practice.course, [each.tried for each in tries]),
        "dry_run": wish.dry_run,
    }
    if not tries:
        text = practice.broken or "Stopped before the entry: nothing was checked."
        return Told(text, document)
    title = f"{goal.passage.title}, {tempo_in_words(goal.passage, practice.speed)}"
    whole = not goal.top
    text = course_text(tries, practice.course, title=title, entry=entry, steps=steps, whole=whole)
    lines = [line for each in practice.made for line in each.performance.notes]
    lines += filter(None, [practice.broken])
    lines.append(remedy("next", _next(practice)))
    unsaid = practice.made[-1].performance.unsaid
    warnings = dict.fromkeys(
        [*practice.said, *unsaid, *(said for each in practice.made for said in each.kept.warnings)]
    )
    return Told("\n\n".join([text, *lines]), document, warnings=tuple(warnings))


def _document(made: Made, steps: list[str]) -> dict[str, Any]:
    tried, found = made.told.tried, made.found
    return {
        "lead_bars": tried.tried.lead,
        "from_top": tried.tried.from_top,
        "help": steps[tried.tried.help],
        "went": made.told.went,
        "in_time": tried.good,
        "kept_as": made.kept.number,
        "offset_ms": None if found.offset_s is None else found.offset_s * 1000,
        "offset_beats": found.offset_beats,
        "wrong_cue": None if found.wrong_cue is None else {"bar": found.wrong_cue},
    }


def _next(practice: Practised) -> str:
    """Return the command for the next practice: faster where it is learnt and not yet at tempo."""
    goal, wish = practice.goal, practice.wish
    tempo = goal.passage.tempo * practice.speed
    if learnt(practice.course, [each.told.tried for each in practice.made]):
        tempo = min(next_mark(tempo), max(goal.passage.tempo, tempo))
    options = wish.options + wish.heard_so
    at = tempo if practice.speed != 1 else None
    return next_command(wish.passage, wish.bars, tempo=at, bar=goal.entry.bar, options=options)
