"""Practising an entry: try after try, the lead-in always another, help thinning as it goes well.

Each try goes on by itself after the last, because whoever holds an instrument has no hand free;
what was heard of the last one stands on the screen while the next is counted in.
"""

from collections.abc import Iterator
from dataclasses import replace
from random import Random

from rhythmtrain.coach.entry_course import Course, Tried, Try, next_try
from rhythmtrain.devices.ports import How
from rhythmtrain.errors import DeviceError, TakeError
from rhythmtrain.hearing.live.way import Way
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.checking.checked import Asked
from rhythmtrain.rehearsal.cueing.followed import with_what_sounds
from rhythmtrain.rehearsal.cueing.known import part_known
from rhythmtrain.rehearsal.entering.came import NEVER_CAME, came_in
from rhythmtrain.rehearsal.entering.one_try import goal_of, try_part, try_plan, try_timeline
from rhythmtrain.rehearsal.entering.recorded import fitted, layers_of
from rhythmtrain.rehearsal.entering.told import Made, told_of
from rhythmtrain.rehearsal.entering.wish import EnterWish, checked_source
from rhythmtrain.rehearsal.live.beside import Ear
from rhythmtrain.rehearsal.live.dry_run import Player, dry_delay, dry_rig
from rhythmtrain.rehearsal.live.judged import judged_live
from rhythmtrain.rehearsal.live.keeping import NOT_KEPT, keep_live
from rhythmtrain.rehearsal.live.live import Rig, Shown
from rhythmtrain.rehearsal.live.performance import capital, gone
from rhythmtrain.rehearsal.live.recorded import UnderTries, sounding_on
from rhythmtrain.rehearsal.live.rigs import MIC, real_rig
from rhythmtrain.rehearsal.live.sound_delay import kept_delay
from rhythmtrain.rehearsal.live.stage import NoStage, Stage
from rhythmtrain.rehearsal.live.take import Sounding, perform
from rhythmtrain.rehearsal.passages.passages import speed_of, whole_passage, wished_passage
from rhythmtrain.rehearsal.recorded.accompaniment import MappedRecording
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.take.entry_course import TryTold, entry_in_words, lead_in_words
from rhythmtrain.report.take.text import tempo_in_words
from rhythmtrain.timing.timeline import Timeline

SILENT_TRIES = 2
# The invented player of a dry run: by how many seconds each try comes late.
DRY_LATE_S = (0.2, -0.015, -0.015, -0.015, 0.25)
DRY_PLAYER = Player()
ESCAPE = "Escape ends the practice."
CARE = "Start quiet, keep it low with headphones; rest often, stop when it hurts."


class EntryPractice:
    """The tries of one entry, one after the other."""

    def __init__(self, wish: EnterWish, stage: Stage, way: Way | None = None) -> None:
        """Find the entry; ``way`` is what is known of the way from loudspeaker to microphone."""
        self.wish = wish
        self.way = way
        self.wanted = checked_source(wish)
        self.said: list[str] = []
        passage = wished_passage(wish, self.said.append)
        layers = layers_of(wish.passage, wish.layers, wish.files, say=self.said.append)
        self.recorded: UnderTries | None = None
        if Layer.ACCOMPANIMENT in layers:
            whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
            part = part_known(wish.passage, None, self.said.append, beside_too=not passage.cue)
            self.recorded = UnderTries(wish, whole, wish.files, part)
            self.goal = goal_of(passage, wish.entry, layers, mapped=self.recorded.bars)
            self.goal, self.recorded, self.speed = fitted(self.goal, self.recorded)
        else:
            self.speed = speed_of(wish, passage) or 1.0
            self.goal = goal_of(passage, wish.entry, layers)
        self.course = Course(self.goal.first - self.goal.top, len(self.goal.steps), wish.tries)
        self.stage = stage
        self.made: list[Made] = []
        self.broken = ""

    def tries(self) -> Iterator[Made]:
        """Make one try after another until the course or the player ends it."""
        chance = Random(0 if self.wish.dry_run else self.wish.seed)  # noqa: S311  (no secret)
        silent = 0
        while silent < SILENT_TRIES:
            done = [each.told.tried for each in self.made]
            coming = next_try(self.course, done, chance)
            if coming is None:
                return
            made = self._made(coming)
            if made is None:
                return
            silent = 0 if made.performance.take.heard else silent + 1
            self.made.append(made)
            yield made
            if made.performance.gathered.ended.how is not How.FINISHED:
                return

    def _made(self, coming: Try) -> Made | None:
        """Make one try; what breaks it off leaves those before, and is told with them."""
        try:
            return self._make(coming)
        except (DeviceError, TakeError) as error:
            if not self.made:
                raise
            self.broken = f"{capital(str(error))}."
            return None

    def _make(self, coming: Try) -> Made | None:
        """Make one try; None where it was stopped before the entry."""
        wish, goal = self.wish, self.goal
        timeline, sounding, recording = self._sounding(coming)
        performance = perform(
            self._rig(timeline),
            sounding,
            self._shown(timeline),
            known=dry_delay if wish.dry_run else kept_delay,
            ear=Ear(wish.kind, aloud=self.wanted.kind == MIC),
            way=self.made[-1].performance.way if self.made else self.way,
        )
        found, kept = NEVER_CAME, NOT_KEPT
        stopped = performance.gathered.ended.how is not How.FINISHED
        if stopped and performance.gathered.played_s < sounding.plan.entries_s[-1]:
            away = gone(performance.gathered, "the entry")
            self.broken = f"{capital(away)}." if away else ""
            return None
        if performance.take.heard:
            asked = Asked(
                wish.passage, wish.bars, wish.kind, live="", part=wish.options, one_go=True
            )
            timing = "click" if self.recorded is None else "recording"
            checked = judged_live(performance, timeline, asked, timing=timing, recording=recording)
            found = came_in(goal, checked, performance)
            if not wish.dry_run:
                kept = keep_live(checked, wish, helped=goal.steps[coming.help].name)
        performance.gathered.forget_sound()
        tried = Tried(coming, found.came.good, found.came.late)
        told = TryTold(len(self.made) + 1, tried, found.words)
        return Made(told, performance, timeline, found, kept)

    def _sounding(self, coming: Try) -> tuple[Timeline, Sounding, MappedRecording | None]:
        """Return the bars of one try in their time, what sounds, and the recording if any."""
        wish, goal = self.wish, self.goal
        if self.recorded is None:
            timeline = try_timeline(goal, coming, speed=self.speed, count_in=wish.count_in)
            plan = try_plan(goal, coming, timeline)
            sounding = Sounding(plan, wish.language, wish.voice)
            return with_what_sounds(timeline, plan), sounding, None
        found = self.recorded.under(try_part(goal, coming), lead_in=wish.count_in)
        plan = try_plan(goal, coming, found.timeline)
        sounding = sounding_on(found, plan, language=wish.language, voice=wish.voice)
        timeline = with_what_sounds(found.timeline, sounding.plan, self.recorded.part)
        return timeline, sounding, found.found

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
        last = (
            (spoken(self.made[-1].told, whole=not self.goal.top), ESCAPE)
            if self.made
            else (ESCAPE, CARE)
        )
        which = entry_in_words(passage, self.goal.entry)
        return Shown(
            self.stage,
            timeline,
            f"{passage.title}, {tempo}",
            (f"Try {len(self.made) + 1}: {which}.", *last),
        )


def practise_entry(wish: EnterWish, stage: Stage | None = None, *, way: Way | None = None) -> Told:
    """Practise one entry of the passage, and return how the tries went.

    ``way`` is what earlier takes taught of the same loudspeaker and microphone.

    Raises:
        RequestError: no such entry, options that do not go together.
        DeviceError, MissingPartError: a device is missing.
        DrillError, FileError: the passage does not read.
    """
    stage = stage or NoStage()
    practice = EntryPractice(wish, stage, way)
    for made in practice.tries():
        stage.say(spoken(made.told, whole=not practice.goal.top))
    return told_of(practice)


def spoken(told: TryTold, *, whole: bool = True) -> str:
    """Return how one try went, in a line; ``whole`` as in ``lead_in_words``."""
    return f"Try {told.number}, {lead_in_words(told.tried, whole=whole)}: {told.went}."
