"""Practising an entry: try after try, the lead-in always another, help thinning as it goes well.

Each try goes on by itself after the last, because whoever holds an instrument has no hand free;
what was heard of the last one stands on the screen while the next is counted in.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from random import Random
from typing import Any

from rhythmtrain.coach.entry_course import MOST_TRIES, Course, Tried, Try, learnt, next_try
from rhythmtrain.coach.ladder import next_mark
from rhythmtrain.devices.ports import How
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.accompaniment import RecordingFiles
from rhythmtrain.rehearsal.beside import Ear
from rhythmtrain.rehearsal.checked import Asked
from rhythmtrain.rehearsal.dry_run import Player, dry_delay, dry_rig
from rhythmtrain.rehearsal.entry_recorded import fitted, layers_of
from rhythmtrain.rehearsal.entry_try import (
    NEVER_CAME,
    came_in,
    goal_of,
    try_part,
    try_plan,
    try_timeline,
)
from rhythmtrain.rehearsal.keeping_live import NOT_KEPT, Kept, keep_live
from rhythmtrain.rehearsal.live import Rig, Shown
from rhythmtrain.rehearsal.live_recorded import (
    UnderTries,
    files_as_typed,
    sounding_on,
)
from rhythmtrain.rehearsal.live_take import Performance, Sounding, judged_live, perform
from rhythmtrain.rehearsal.passages import Wish, speed_of, whole_passage, wished_passage
from rhythmtrain.rehearsal.rigs import MIC, TapsFrom, as_typed, real_rig, taps_from
from rhythmtrain.rehearsal.sound_delay import kept_delay
from rhythmtrain.rehearsal.stage import NoStage, Stage
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.check_text import tempo_in_words
from rhythmtrain.report.commands import typed
from rhythmtrain.report.entry_course_text import (
    TryTold,
    course_text,
    entry_in_words,
    lead_in_words,
    next_command,
    went_in_words,
)
from rhythmtrain.timing.timeline import Timeline

SILENT_TRIES = 2
# The invented player of a dry run: by how many seconds each try comes late.
DRY_LATE_S = (0.2, -0.015, -0.015, -0.015, 0.25)
DRY_PLAYER = Player()
ESCAPE = "Escape ends the practice."
CARE = "Start quiet, keep it low with headphones; rest often, stop when it hurts."


@dataclass(frozen=True, slots=True)
class EnterWish(Wish):
    """Which entry is to be practised, and how: options as typed."""

    count_in: int = 1
    entry: int | None = None
    tries: int = MOST_TRIES
    seed: int | None = None
    source: str = "keys"
    loudspeaker: str | None = None
    kind: str = "claps"
    language: str = "en"
    voice: Path | None = None
    dry_run: bool = False
    layers: str | None = None
    accompaniment: Path | None = None
    beats: Path | None = None

    @property
    def files(self) -> RecordingFiles:
        """Return the recording and the beat map that were given, if any."""
        return RecordingFiles(self.accompaniment, self.beats)


@dataclass(frozen=True, slots=True)
class _Made:
    """One try that was made, with what was gathered of it."""

    told: TryTold
    performance: Performance
    timeline: Timeline
    offset_s: float | None
    offset_beats: float | None
    kept: Kept


class _Practice:
    """The tries of one entry, one after the other."""

    def __init__(self, wish: EnterWish, stage: Stage) -> None:
        self.wish = wish
        self.wanted = _checked_source(wish)
        self.said: list[str] = []
        passage = wished_passage(wish, self.said.append)
        layers = layers_of(wish.passage, wish.layers, wish.files, say=self.said.append)
        self.recorded: UnderTries | None = None
        if Layer.ACCOMPANIMENT in layers:
            whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
            self.recorded = UnderTries(wish, whole, wish.files)
            self.goal = goal_of(passage, wish.entry, layers, mapped=self.recorded.bars)
            self.goal, self.recorded, self.speed = fitted(self.goal, self.recorded)
        else:
            self.speed = speed_of(wish, passage) or 1.0
            self.goal = goal_of(passage, wish.entry, layers)
        self.course = Course(self.goal.first - self.goal.top, len(self.goal.steps), wish.tries)
        self.stage = stage
        self.made: list[_Made] = []

    def tries(self) -> Iterator[_Made]:
        """Make one try after another until the course or the player ends it."""
        chance = Random(0 if self.wish.dry_run else self.wish.seed)  # noqa: S311  (no secret)
        silent = 0
        while silent < SILENT_TRIES:
            done = [each.told.tried for each in self.made]
            coming = next_try(self.course, done, chance)
            if coming is None:
                return
            made = self._make(coming)
            if made is None:
                return
            silent = 0 if made.performance.take.heard else silent + 1
            self.made.append(made)
            yield made
            if made.performance.gathered.ended.how is not How.FINISHED:
                return

    def _make(self, coming: Try) -> _Made | None:
        """Make one try; None where it was stopped before the entry."""
        wish, goal = self.wish, self.goal
        timeline, sounding = self._sounding(coming)
        performance = perform(
            self._rig(timeline),
            sounding,
            self._shown(timeline),
            known=dry_delay if wish.dry_run else kept_delay,
            ear=Ear(wish.kind, aloud=self.wanted.kind == MIC),
        )
        found, kept = NEVER_CAME, NOT_KEPT
        stopped = performance.gathered.ended.how is not How.FINISHED
        if stopped and performance.gathered.played_s < sounding.plan.entries_s[-1]:
            return None
        if performance.take.heard:
            asked = Asked(wish.passage, wish.bars, wish.kind, live="", part=wish.options)
            timing = "click" if self.recorded is None else "recording"
            checked = judged_live(performance, timeline, asked, timing=timing)
            found = came_in(goal, checked, performance)
            if not wish.dry_run:
                kept = keep_live(checked, wish, helped=goal.steps[coming.help].name)
        tried = Tried(coming, found.came.good, found.came.late)
        told = TryTold(len(self.made) + 1, tried, went_in_words(found.came.verdict))
        return _Made(told, performance, timeline, found.offset_s, found.offset_beats, kept)

    def _sounding(self, coming: Try) -> tuple[Timeline, Sounding]:
        """Return the bars of one try in their time, and what sounds."""
        wish, goal = self.wish, self.goal
        if self.recorded is None:
            timeline = try_timeline(goal, coming, speed=self.speed, count_in=wish.count_in)
            return timeline, Sounding(try_plan(goal, coming, timeline), wish.language, wish.voice)
        found = self.recorded.under(try_part(goal, coming), lead_in=wish.count_in)
        plan = try_plan(goal, coming, found.timeline)
        sounding = sounding_on(found, plan, language=wish.language, voice=wish.voice)
        return found.timeline, sounding

    def _rig(self, timeline: Timeline) -> Rig:
        if not self.wish.dry_run:
            return real_rig(self.wanted, self.wish.loudspeaker)
        number = len(self.made)
        late_s = DRY_LATE_S[number] if number < len(DRY_LATE_S) else DRY_PLAYER.late_s
        player = replace(DRY_PLAYER, late_s=late_s, seed=number)
        return dry_rig(timeline, self.wanted.kind, player)

    def _shown(self, timeline: Timeline) -> Shown:
        passage = self.goal.passage
        tempo = tempo_in_words(passage, self.speed)
        last = (spoken(self.made[-1].told), ESCAPE) if self.made else (ESCAPE, CARE)
        which = entry_in_words(passage, self.goal.entry)
        return Shown(
            self.stage,
            timeline,
            f"{passage.title}, {tempo}",
            (f"Try {len(self.made) + 1}: {which}.", *last),
        )


def practise_entry(wish: EnterWish, stage: Stage | None = None) -> Told:
    """Practise one entry of the passage, and return how the tries went.

    Raises:
        RequestError: no such entry, options that do not go together.
        DeviceError, MissingPartError: a device is missing.
        DrillError, FileError: the passage does not read.
    """
    stage = stage or NoStage()
    practice = _Practice(wish, stage)
    for made in practice.tries():
        stage.say(spoken(made.told))
    return _told(practice)


def spoken(told: TryTold) -> str:
    """Return how one try went, in a line."""
    return f"Try {told.number}, {lead_in_words(told.tried)}: {told.went}."


def _checked_source(wish: EnterWish) -> TapsFrom:
    wanted = taps_from(wish.source)
    if wish.kind != "claps" and wanted.kind != MIC:
        raise RequestError(f"--as {wish.kind} is for the microphone: add --from mic")
    return wanted


def _told(practice: _Practice) -> Told:
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
        return Told("Stopped before the entry: nothing was checked.", document)
    title = f"{goal.passage.title}, {tempo_in_words(goal.passage, practice.speed)}"
    text = course_text(tries, practice.course, title=title, entry=entry, steps=steps)
    lines = [line for each in practice.made for line in each.performance.notes]
    lines.append(f"To type next:\n  {_next(practice)}")
    unsaid = practice.made[-1].performance.unsaid
    warnings = dict.fromkeys(
        [*practice.said, *unsaid, *(said for each in practice.made for said in each.kept.warnings)]
    )
    return Told("\n\n".join([text, *lines]), document, warnings=tuple(warnings))


def _document(made: _Made, steps: list[str]) -> dict[str, Any]:
    tried = made.told.tried
    return {
        "lead_bars": tried.tried.lead,
        "from_top": tried.tried.from_top,
        "help": steps[tried.tried.help],
        "went": made.told.went,
        "in_time": tried.good,
        "kept_as": made.kept.number,
        "offset_ms": None if made.offset_s is None else made.offset_s * 1000,
        "offset_beats": made.offset_beats,
    }


def _next(practice: _Practice) -> str:
    """Return the command for the next practice: faster where it is learnt and not yet at tempo."""
    goal, wish = practice.goal, practice.wish
    tempo = goal.passage.tempo * practice.speed
    if learnt(practice.course, [each.told.tried for each in practice.made]):
        tempo = min(next_mark(tempo), max(goal.passage.tempo, tempo))
    options = wish.options + as_typed(wish.source, wish.kind, wish.loudspeaker)
    options += files_as_typed(wish.files)
    options += "" if wish.layers is None else f" --layers {typed(wish.layers)}"
    at = tempo if practice.speed != 1 else None
    return next_command(wish.passage, wish.bars, tempo=at, bar=goal.entry.bar, options=options)
