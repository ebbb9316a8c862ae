"""An entry practised at the page: try after try, the lead-in always another, help as it goes.

The course is the one of ``rhythmtrain enter``; between two tries the page waits for the player.
"""

from dataclasses import dataclass, field
from random import Random
from typing import Any

from rhythmtrain.coach.entry_course import MOST_TRIES, Course, Tried, Try, next_try
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_track import Made
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.desk.taking import Finished
from rhythmtrain.rehearsal.desk.track_told import track_document
from rhythmtrain.rehearsal.desk.try_tracks import Aim, aim_of, try_track
from rhythmtrain.rehearsal.entering.came import NEVER_CAME, came_in
from rhythmtrain.report.take.entry_course import (
    TryTold,
    advice,
    entry_in_words,
    lead_in_words,
)
from rhythmtrain.report.take.text import tempo_in_words

Document = dict[str, Any]


@dataclass(slots=True)
class EntryCourse:
    """The tries at one entry: what it is, the ones that were made, the one that comes."""

    aim: Aim
    course: Course
    chance: Random
    done: list[Tried] = field(default_factory=list)
    coming: Try | None = None


def course_begun(sitting: Sitting, courses: Lately[EntryCourse], asked: Asked) -> Document:
    """Begin to practise the entry in bar "bar" (the longest rest's where none is said).

    Raises:
        RequestError: the passage has no entry, or none there.
        DrillError, FileError, TakeError: the passage or its recording does not read.
    """
    aim = aim_of(sitting, asked)
    goal = aim.goal
    most = asked.whole("tries", MOST_TRIES)
    course = Course(goal.first - goal.top, len(goal.steps), most)
    chance = Random()  # noqa: S311  (no secret)
    begun = EntryCourse(aim, course, chance)
    name = courses.keep(begun)
    begun.coming = next_try(course, (), chance)
    return {
        "course": name,
        "title": goal.passage.title,
        "entry": entry_in_words(goal.passage, goal.entry),
        "tempo_words": tempo_in_words(goal.passage, aim.speed),
        **_next(begun),
    }


def try_made(
    sitting: Sitting, courses: Lately[EntryCourse], tracks: Lately[Made], asked: Asked
) -> Document:
    """Make the track of the try that comes and return it as any track.

    Raises:
        RequestError: the course is over.
    """
    begun = courses.get(asked.text("course"))
    if begun.coming is None:
        raise RequestError("this practice is over: begin another")
    made, unsaid = try_track(sitting, begun.aim, begun.coming)
    return track_document(made) | {"track": tracks.keep(made), "said": list(unsaid)}


def try_ended(courses: Lately[EntryCourse], asked: Asked, finished: Finished | None) -> Document:
    """Return how the try went, None being a try in which nothing was played, and what comes next.

    Raises:
        RequestError: the course is over.
    """
    begun = courses.get(asked.text("course"))
    if begun.coming is None:
        raise RequestError("this practice is over: begin another")
    found = NEVER_CAME
    if finished is not None:
        found = came_in(begun.aim.goal, finished.checked, finished.performance)
    tried = Tried(begun.coming, found.came.good, found.came.late)
    begun.done.append(tried)
    begun.coming = next_try(begun.course, begun.done, begun.chance)
    told = TryTold(len(begun.done), tried, found.words)
    return {
        "number": told.number,
        "lead_in": lead_in_words(tried, whole=not begun.aim.goal.top),
        "went": told.went,
        "good": tried.good,
        "offset_ms": None if found.offset_s is None else found.offset_s * 1000,
        "offset_beats": found.offset_beats,
        "wrong_cue": None if found.wrong_cue is None else {"bar": found.wrong_cue},
        "advice": [] if begun.coming else list(advice(begun.done, begun.course)),
        "notes": [] if finished is None else list(finished.notes),
        **_next(begun),
    }


def _next(begun: EntryCourse) -> Document:
    """Return what is said of the try that comes, None where the course is over."""
    coming = begun.coming
    if coming is None:
        return {"coming": None}
    step = begun.aim.goal.steps[coming.help].name
    words = lead_in_words(Tried(coming, good=False), whole=not begun.aim.goal.top)
    return {
        "coming": {
            "number": len(begun.done) + 1,
            "lead_in": words,
            "help": step,
        }
    }
