"""The track of one try at an entry, made when the try comes, and again after a power cut.

A take that was never ended is judged against the very bars it was played to, so which try it was
is kept with it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.prompts.plan import Plan
from rhythmtrain.rehearsal.cueing.followed import with_what_sounds
from rhythmtrain.rehearsal.cueing.known import part_known
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_track import TRY, Made, PageWish
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.desk.sounding import stems_written, wish_of
from rhythmtrain.rehearsal.entering.one_try import (
    WITH_RECORDING,
    Goal,
    goal_of,
    try_part,
    try_plan,
    try_timeline,
)
from rhythmtrain.rehearsal.entering.recorded import fitted, layers_of
from rhythmtrain.rehearsal.live.recorded import UnderTries, sounding_on
from rhythmtrain.rehearsal.passages.from_scores import unsaid
from rhythmtrain.rehearsal.passages.passages import speed_of, whole_passage, wished_passage
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES, MappedRecording
from rhythmtrain.rehearsal.tracks.recordings import played
from rhythmtrain.rehearsal.tracks.sound import RATE
from rhythmtrain.render.recorded import Played
from rhythmtrain.timing.timeline import Timeline


@dataclass(frozen=True, slots=True)
class Aim:
    """What the tries of a course are at: the entry, how fast, over which recording if any."""

    wish: PageWish
    values: Mapping[str, Any]
    goal: Goal
    speed: float
    recorded: UnderTries | None


def aim_of(sitting: Sitting, asked: Asked) -> Aim:
    """Return what is aimed at: the entry in bar "bar", the longest rest's where none is said.

    Raises:
        RequestError: the passage has no entry, or none there.
        DrillError, FileError, TakeError: the passage or its recording does not read.
    """
    wish = wish_of(sitting, asked)
    passage = wished_passage(wish)
    bar = None if asked.values.get("bar") is None else asked.whole("bar")
    named = "accompaniment,click,count" if asked.truth("recorded") else "click,count,cue"
    layers = layers_of(wish.passage, named, NO_FILES, say=unsaid)
    if layers != WITH_RECORDING:
        goal, speed = goal_of(passage, bar, layers), speed_of(wish, passage) or 1.0
        return Aim(wish, asked.values, goal, speed, None)
    whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
    recorded = UnderTries(
        wish, whole, NO_FILES, part_known(wish.passage, None, unsaid, beside_too=not passage.cue)
    )
    goal, recorded, speed = fitted(goal_of(passage, bar, layers, mapped=recorded.bars), recorded)
    return Aim(wish, asked.values, goal, speed, recorded)


def try_track(sitting: Sitting, aim: Aim, coming: Try) -> tuple[Made, tuple[str, ...]]:
    """Return the track of the try ``coming``, and what the voice has no words for."""
    timeline, plan, pieces, recording = _sounding(aim, coming)
    stems, wordless = stems_written(sitting, plan, pieces, language=aim.wish.language)
    which = {"lead": coming.lead, "help": coming.help, "from_top": coming.from_top}
    again = {**aim.values, "made_as": TRY, **which}
    helped = aim.goal.steps[coming.help].name
    made = Made(aim.wish, again, timeline, plan, stems, helped=helped, recording=recording)
    return made, wordless


def try_again(sitting: Sitting, asked: Asked) -> Made:
    """Return the track of a try once more, from what was kept of it.

    Raises:
        RequestError, IndexError: what was kept does not read, or the passage is gone.
    """
    coming = Try(asked.whole("lead"), asked.whole("help"), asked.truth("from_top"))
    return try_track(sitting, aim_of(sitting, asked), coming)[0]


def _sounding(
    aim: Aim, coming: Try
) -> tuple[Timeline, Plan, tuple[Played, ...], MappedRecording | None]:
    """Return the bars of one try in their time, what sounds, the recording's pieces, and itself."""
    goal = aim.goal
    if aim.recorded is None:
        timeline = try_timeline(goal, coming, speed=aim.speed, count_in=1)
        plan = try_plan(goal, coming, timeline)
        return with_what_sounds(timeline, plan), plan, (), None
    found = aim.recorded.under(try_part(goal, coming), lead_in=1)
    sounding = sounding_on(found, try_plan(goal, coming, found.timeline))
    timeline = with_what_sounds(found.timeline, sounding.plan, aim.recorded.part)
    pieces = played(sounding.plan.laid, found.found.recording, rate=RATE)
    return timeline, sounding.plan, pieces, found.found
