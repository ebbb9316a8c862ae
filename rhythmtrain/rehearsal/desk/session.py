"""One session at the page: step by step in the teacher's order, each chosen from what was heard.

The coach is that of ``rhythmtrain practise``; the page plays each step's track and waits for the
player between them.  An entry is practised in its own place, and counts from the history.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from time import monotonic
from typing import Any

from rhythmtrain.coach.next_task import next_task
from rhythmtrain.coach.runs_heard import failed_bars, runs_heard
from rhythmtrain.coach.session import Session
from rhythmtrain.coach.settings import Order
from rhythmtrain.coach.stages import Stage
from rhythmtrain.coach.task import Done, Over, Task
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.arriving import MIC
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_track import Made
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.desk.step_tracks import material_asked, step_track
from rhythmtrain.rehearsal.desk.taking import Finished
from rhythmtrain.rehearsal.desk.track_told import track_document
from rhythmtrain.rehearsal.practising.history import earlier_runs
from rhythmtrain.rehearsal.practising.rounds import Material
from rhythmtrain.rehearsal.practising.settings import practice_settings
from rhythmtrain.rehearsal.practising.wish import TIME_IS_UP, PractiseWish
from rhythmtrain.report.practising.how import (
    Listening,
    how_in_words,
    often_in_words,
    title_in_words,
    unheard_in_words,
)
from rhythmtrain.report.practising.words import over_in_words, result_in_words, why_next
from rhythmtrain.report.take.text import tempo_in_words
from rhythmtrain.report.take.troubles import troubles

Document = dict[str, Any]
MINUTE_S = 60.0
OVER = "this session is over: begin another"
NOT_IT = "That did not sound like this passage."
NOTHING = "Nothing was heard."


@dataclass(slots=True)
class PageSession:
    """A session while it lasts: what is practised, what was done, the task that comes.

    None comes once the minutes are over, at ``until_s`` of the machine's own clock.
    """

    wish: PractiseWish
    values: Mapping[str, Any]
    material: Material
    session: Session
    coming: Task | Over | None
    until_s: float
    steps: list[Done] = field(default_factory=list)

    @property
    def listening(self) -> Listening:
        """Return who listens to what, for what is said."""
        return self.material.listening


def session_begun(sitting: Sitting, sessions: Lately[PageSession], asked: Asked) -> Document:
    """Begin a session with "passage", heard from "source", with "instrument" or clapped alone.

    It lasts "minutes", the step that was begun then to its end; "order" is that of the tempi.

    Raises:
        RequestError: options that do not go together.
        DrillError, FileError: the passage, the settings or the history do not read.
    """
    said: list[str] = []
    wish, material = material_asked(sitting, asked, said.append)
    before = earlier_runs(wish, say=said.append)
    day = datetime.now(UTC).astimezone().date()
    settings = practice_settings()
    if wish.order is not None:
        settings = replace(settings, order=Order(wish.order))
    session = Session(material.outline, day, before, (), settings)
    until_s = monotonic() + wish.minutes * MINUTE_S
    begun = PageSession(wish, asked.values, material, session, next_task(session), until_s)
    name = sessions.keep(begun)
    return {"session": name, "title": material.passage.title, "said": said, **_next(begun)}


def step_made(
    sitting: Sitting, sessions: Lately[PageSession], tracks: Lately[Made], asked: Asked
) -> Document:
    """Make the track of the step that comes, and return it as any track.

    Raises:
        RequestError: the session is over, or the step is an entry, which has a place of its own.
    """
    begun = sessions.get(asked.text("session"))
    task = _task(begun)
    if task.stage is Stage.COME_IN:
        raise RequestError("an entry is practised in its own place: open Come in")
    made, each, unsaid = step_track(sitting, begun.wish, begun.material, task, values=begun.values)
    told = track_document(made) | {"track": tracks.keep(made), "said": list(unsaid)}
    return told | {"judged": each.judged, "kind": each.kind}


def step_ended(sessions: Lately[PageSession], asked: Asked, finished: Finished | None) -> Document:
    """Return how the step went and what comes next; without a take it was done and not judged.

    "silent" says that it should have been heard and nothing came.

    Raises:
        RequestError: the session is over.
    """
    begun = sessions.get(asked.text("session"))
    task = _task(begun)
    done = Done(task, silent=asked.truth("silent"))
    said: tuple[str, ...] = (NOTHING,) if done.silent else ()
    if finished is not None:
        done, said = _heard(task, finished, begun)
    begun.steps.append(done)
    begun.session = replace(begun.session, done=(*begun.session.done, done))
    begun.coming = next_task(begun.session)
    if isinstance(begun.coming, Task) and monotonic() >= begun.until_s:
        begun.coming = None
    went = f"{title_in_words(task)}: {result_in_words(done)}."
    return {"went": went, "said": list(said), "right": done.good(), **_next(begun)}


def _heard(task: Task, finished: Finished, begun: PageSession) -> tuple[Done, tuple[str, ...]]:
    checked = finished.checked
    exact = begun.material.means.taps.kind != MIC
    runs = runs_heard(checked.timeline, checked.findings, exact=exact)
    notes = finished.notes
    if checked.findings.instead is not None:
        return Done(task, max(len(runs), 1), 0), (checked.said.first, *notes)
    if not runs:
        return Done(task, silent=True), notes or (NOTHING,)
    if checked.findings.looks_like is False:
        return Done(task, len(runs), 0), (NOT_IT,)
    done = Done(task, len(runs), sum(run.right for run in runs), failed_bars(runs))
    amiss = troubles(checked.heard)
    if amiss and not done.good(begun.session.settings):
        return done, (amiss[0].words, *notes)
    return done, (*filter(None, (checked.said.praise,)), *notes)


def _task(begun: PageSession) -> Task:
    if not isinstance(begun.coming, Task):
        raise RequestError(OVER)
    return begun.coming


def _next(begun: PageSession) -> Document:
    """Return the step that comes, in words, or why the session is over."""
    task = begun.coming
    if task is None:
        return {"coming": None, "over": TIME_IS_UP.format(minutes=begun.wish.minutes)}
    if isinstance(task, Over):
        return {"coming": None, "over": over_in_words(task)}
    passage = begun.material.passage
    pace = (tempo_in_words(passage, task.tempo / passage.tempo), often_in_words(task))
    unheard = task.stage not in begun.material.outline.heard
    return {
        "coming": {
            "title": title_in_words(task),
            "pace": ", ".join(filter(None, pace)),
            "how": how_in_words(task, begun.listening),
            "why": why_next(task),
            "judged": not unheard,
            "unjudged": unheard_in_words(task.stage, begun.listening) if unheard else "",
            "entry": task.stage is Stage.COME_IN,
            "bars": list(task.bars),
        },
        "over": "",
    }
