"""A session while it lasts: page after page, task after task, until it is over."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from rhythmtrain.coach.next_task import next_task
from rhythmtrain.coach.session import Session
from rhythmtrain.coach.task import Over, Task
from rhythmtrain.hearing.live.way import Way
from rhythmtrain.rehearsal.practising.steps import Doing, StepDone, do_task
from rhythmtrain.rehearsal.practising.wait import Page as Drawn
from rhythmtrain.report.practising.how import (
    Listening,
    how_in_words,
    often_in_words,
    title_in_words,
    unheard_in_words,
)
from rhythmtrain.report.practising.page import Page, page_lines
from rhythmtrain.report.practising.words import (
    rest_in_words,
    result_in_words,
    why_next,
)
from rhythmtrain.report.take.text import tempo_in_words

MINUTE_S = 60.0
STOPPED, TIME = "stopped", "time"
BEGIN = "{keys} begins. Escape ends the session; every take is kept."
KEYS = {"keys": "Enter, or any key,", "midi": "A pad, or Enter,", "mic": "Enter"}
CARE = "Start quiet, keep it low with headphones; rest often, stop when it hurts."


@dataclass(slots=True)
class Sitting:
    """What was done so far, how long it took, and what comes next.

    ``way`` is what is known by now of the way from loudspeaker to microphone.
    """

    doing: Doing
    session: Session
    spent_s: float = 0.0
    rests: int = 0
    steps: list[StepDone] = field(default_factory=list)
    way: Way | None = None

    def go(self) -> str | Over:
        """Do one task after another, and return why no more come.

        Raises:
            DeviceError, MissingPartError: a device is missing.
        """
        while True:
            task = next_task(self.session)
            if isinstance(task, Over):
                return task
            if self.spent_s >= self.doing.wish.minutes * MINUTE_S:
                return TIME
            waited = self.doing.machine.waiting.until_begun(self.doing.stage, self._page(task))
            self.spent_s += waited.seconds
            if not waited.begins:
                return STOPPED
            step = do_task(task, self.doing, len(self.steps), way=self.way)
            self.spent_s += step.seconds
            self.steps.append(step)
            self.way = step.way
            self.session = replace(self.session, done=(*self.session.done, step.done))
            if step.stopped:
                return STOPPED

    @property
    def listening(self) -> Listening:
        """Return who listens to what, for what is said."""
        return self.doing.material.listening

    def pace(self, task: Task) -> str:
        """Return how fast, and how often: "quarter = 44, twice"."""
        passage = self.doing.material.passage
        words = (tempo_in_words(passage, task.tempo / passage.tempo), often_in_words(task))
        return ", ".join(filter(None, words))

    def _page(self, task: Task) -> Drawn:
        """Return the page before ``task``, for any size of screen."""
        wish, listening = self.doing.wish, self.listening
        unheard = task.stage not in self.session.outline.heard
        page = Page(
            head=self.doing.material.passage.title,
            clock=f"{self.spent_s / MINUTE_S:.0f} of {wish.minutes:g} minutes",
            heard=self._heard(),
            title=title_in_words(task),
            pace=self.pace(task),
            how=(
                how_in_words(task, listening),
                unheard_in_words(task.stage, listening) if unheard else "",
            ),
            why=why_next(task),
            foot=BEGIN.format(keys=KEYS[listening.source]),
            care=self._care(),
        )

        def lines(columns: int, rows: int) -> Sequence[str]:
            return page_lines(page, columns, rows)

        return lines

    def _heard(self) -> tuple[str, ...]:
        """Return what was heard of the last step; nothing of one that was not judged."""
        if not self.steps:
            return ()
        last = self.steps[-1]
        if not (last.done.runs or last.done.silent):
            return last.said
        return (f"{title_in_words(last.done.task)}: {result_in_words(last.done)}.", *last.said)

    def _care(self) -> str:
        """Return what is said for the body's sake: at the beginning, and when it is time to rest."""
        if not self.steps:
            return CARE
        rests = int(self.spent_s / MINUTE_S / self.doing.settings.rest_minutes)
        if rests <= self.rests:
            return ""
        self.rests = rests
        return rest_in_words(self.spent_s / MINUTE_S)
