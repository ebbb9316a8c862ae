"""What each task of a session is made of: its bars laid out, what sounds, what is listened for.

Beside a microphone the click is never left alone, because a track of clicks comes round too evenly
to be taken out of what the microphone heard: there the beats stay counted.
"""

from dataclasses import dataclass, replace
from pathlib import Path

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.coach.stages import NEVER_HEARD, Outline, Stage, stages_for
from rhythmtrain.coach.task import Task
from rhythmtrain.prompts.fading import BEAT, HELP_STEPS, RHYTHM, HelpStep, Silence
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.entering.one_try import Goal, goal_of, try_part, try_plan
from rhythmtrain.rehearsal.live.rigs import MIC
from rhythmtrain.rehearsal.live.take import Sounding
from rhythmtrain.rehearsal.practising.wish import Means
from rhythmtrain.report.practising.how import Listening
from rhythmtrain.score.entries import entries_of
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Kind, Passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out

ECHO_BARS = 2
CUE_BARS, REST_BARS = 4, 8
LAYERS = RHYTHM | BEAT | {Layer.CUE}
EVERYTHING, NO_CLAP, YOU_COUNT, CLICK = HELP_STEPS[:4]
HALF_COUNTED = HelpStep("you count, every other bar silent", BEAT, Say.BEATS, Silence.EVERY_OTHER)
ALONE_STEPS = (NO_CLAP, YOU_COUNT, CLICK)
ALONE_BEFORE_MIC = (NO_CLAP, YOU_COUNT, HALF_COUNTED)
ECHO_STEP = HelpStep("echo", RHYTHM | BEAT, Say.BEATS)
PLAYED = (Stage.ONE_NOTE, Stage.AS_WRITTEN, Stage.COME_IN, Stage.LADDER)
VOICE = "voice"
SUNG, ONE_NOTE = ", on one syllable", ", on one note"


@dataclass(frozen=True, slots=True)
class Round:
    """One take: its bars in their time, what sounds, for what it listens, what helped."""

    timeline: Timeline
    sounding: Sounding
    kind: str
    helped: str
    judged: bool


@dataclass(frozen=True, slots=True)
class Material:
    """All that a session is about: the passage, its entry if it has one, and who listens."""

    passage: Passage
    means: Means
    goal: Goal | None
    language: str = "en"
    voice: Path | None = None

    @property
    def outline(self) -> Outline:
        """Return what there is to practise, as the coach wants to know it."""
        once = lay_out(self.passage, Practice())
        bars = dict.fromkeys(
            once.bars[note.place].bar.number for note in once.notes if note.expected
        )
        cue = (
            self.goal is not None and bool(self.goal.passage.cue) and _plays(_their_line(self.goal))
        )
        stages = stages_for(
            instrument=self.means.instrument is not None, entry=self.goal is not None, cue=cue
        )
        if self.means.instrument is not None and self.means.instrument.kind == VOICE:
            stages = tuple(each for each in stages if each is not Stage.ONE_NOTE)  # sung already
        run_s = float(once.track_seconds(once.stop))
        heard = frozenset(stages) - NEVER_HEARD - self._unheard
        return Outline(self.passage.tempo, run_s, tuple(bars), stages, heard)

    @property
    def listening(self) -> Listening:
        """Return who listens to what, for what is said."""
        means = self.means
        if means.instrument is None:
            return Listening(means.taps.kind)
        sung = means.instrument.kind == VOICE
        return Listening(means.taps.kind, means.instrument.name, means.instrument_heard, sung)

    @property
    def _unheard(self) -> frozenset[Stage]:
        """Return the steps that cannot be heard with what listens."""
        sung = {Stage.SING, Stage.THEIR_LINE} if self.means.taps.kind != MIC else set()
        played = {Stage.ONE_NOTE, Stage.AS_WRITTEN} if not self.means.instrument_heard else set()
        return frozenset(sung | played)


def material_of(
    passage: Passage, means: Means, *, language: str = "en", voice: Path | None = None
) -> Material:
    """Return what a session about ``passage`` is made of."""
    plain = replace(
        passage, bars=tuple(replace(bar, opens=False, times=0, ending=0) for bar in passage.bars)
    )
    goal = goal_of(passage, None) if entries_of(plain) else None
    return Material(passage, means, goal, language, voice)


def round_of(task: Task, material: Material) -> Round:
    """Return the take that ``task`` asks for."""
    goal, speed = material.goal, task.tempo / material.passage.tempo
    step = step_of(task, material.means)
    judged = task.stage in material.outline.heard
    if task.stage is Stage.COUNT_REST and goal is not None:
        each = Try(min(REST_BARS, goal.first - goal.top), 0)
        timeline = lay_out(try_part(goal, each), Practice(speed=speed, count_in=1))
        sounding = Sounding(try_plan(goal, each, timeline), material.language, material.voice)
        return Round(timeline, sounding, "claps", goal.steps[0].name, judged=False)
    passage = _bars_of(task, material)
    echo = ECHO_BARS if task.stage is Stage.ECHO else 0
    practice = Practice(speed=speed, repeats=task.runs, count_in=1, echo=echo)
    timeline = lay_out(passage, practice)
    plan = plan_track(timeline, Wishes(layers=LAYERS, say=step.say or Say.BEATS, steps=(step,)))
    sounding = Sounding(plan, material.language, material.voice)
    return Round(
        timeline, sounding, kind_of(task.stage, material.means), helped(task.stage, step), judged
    )


def step_of(task: Task, means: Means) -> HelpStep:
    """Return the help of ``task``."""
    if task.stage in (Stage.LISTEN, Stage.WITH_HELP, Stage.THEIR_LINE):
        return EVERYTHING
    if task.stage is Stage.ECHO:
        return ECHO_STEP
    return alone_steps(means)[task.help] if task.stage is Stage.ALONE else playing_step(means)


def alone_steps(means: Means) -> tuple[HelpStep, ...]:
    """Return the steps of help while one claps without hearing the rhythm, most first."""
    return ALONE_BEFORE_MIC if means.taps.kind == MIC else ALONE_STEPS


def playing_step(means: Means) -> HelpStep:
    """Return what helps while one plays: the click, before a microphone counted."""
    if means.taps.kind != MIC:
        return CLICK
    return YOU_COUNT if means.instrument_heard else HALF_COUNTED


def helped(stage: Stage, step: HelpStep) -> str:
    """Return what is kept with a take of ``stage`` as its help."""
    suffix = {Stage.SING: SUNG, Stage.ONE_NOTE: ONE_NOTE}.get(stage, "")
    return f"{step.name}{suffix}"


def kind_of(stage: Stage, means: Means) -> str:
    """Return what is listened for in ``stage``."""
    if stage in (Stage.SING, Stage.THEIR_LINE):
        return VOICE
    if stage not in PLAYED or not means.instrument_heard:
        return "claps"
    return "claps" if means.instrument is None else means.instrument.kind


def _bars_of(task: Task, material: Material) -> Passage:
    if task.stage is Stage.THEIR_LINE and material.goal is not None:
        return _their_line(material.goal)
    if not task.bars:
        return material.passage
    return excerpt(material.passage, min(task.bars), max(task.bars))


def _their_line(goal: Goal) -> Passage:
    """Return what the accompanist plays before the entry, as a passage of its own."""
    bars = goal.passage.bars
    begin = max(goal.first - CUE_BARS, goal.top)
    part = excerpt(goal.passage, bars[begin].number, bars[goal.first].number)
    return replace(part, bars=part.cue, cue=(), marks=())


def _plays(passage: Passage) -> bool:
    return any(place.kind is Kind.PLAYED for bar in passage.bars for place in bar.places)
