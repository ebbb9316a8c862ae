"""An entry course as files: tracks that lead in to one entry, each followed by its answer.

Help thins from track to track, at each of a few tempi.  The answer is the same track with the entry
clapped, from its first note on, so that one can hear afterwards whether one came in where it is.
With a recorded accompaniment no more of it is wanted than what is mapped: the bars by the entry.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from random import Random

from rhythmtrain.coach.entry_course import Course, Try
from rhythmtrain.coach.entry_tracks import entry_tracks
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.entry_help import entry_steps
from rhythmtrain.prompts.fading import HelpStep
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.entering.one_try import Goal, goal_of, part_from
from rhythmtrain.rehearsal.packing.recorded import (
    LEAD_IN,
    Beside,
    Sounded,
    at_recorded_tempo,
    over_recording,
)
from rhythmtrain.rehearsal.packing.tracks import tempo_digits
from rhythmtrain.rehearsal.recorded.accompaniment import mapped_bars
from rhythmtrain.remedies import remedy
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Passage, numbered
from rhythmtrain.timing.timeline import Practice, lay_out
from rhythmtrain.units import Bpm

SPEEDS = 3
# The same files each time: whoever packs again writes over what is there.
SEED = 2
HELP = frozenset({Layer.CLICK, Layer.COUNT})
ONLY_CLAPS = HelpStep("claps", frozenset({Layer.CLAP}))
ROUNDING_S = 1e-6


@dataclass(frozen=True, slots=True)
class EntryTrack:
    """One try at an entry as two files: ``file`` to come in with, and ``answer``."""

    goal: Goal
    tried: Try
    tempo: Bpm
    begins: int
    help: HelpStep
    file: str
    answer: str


def entry_goal(passage: Passage, bar: int | None, beside: Beside | None) -> Goal:
    """Return the entry in ``bar``, or that after the longest rest, in the bars that are mapped.

    Raises:
        RequestError: there is no such entry, or the beat map does not reach it.
        FileError, TakeError: the recording or its map does not read.
    """
    goal = goal_of(passage, bar)
    if beside is None:
        return goal
    low, high = mapped_bars(beside.source, beside.whole, files=beside.files)
    numbers = [each.number for each in goal.passage.bars if low <= each.number <= high]
    if goal.entry.bar not in numbers:
        raise RequestError(
            f"the beat map holds bars {low}-{high}, and the entry is in bar {goal.entry.bar}: map "
            "some bars before it too, "
            f"{remedy('map-bars', max(goal.entry.bar - 4, 1), goal.entry.bar)}"
        )
    last = min(goal.passage.bars[goal.last].number, numbers[-1])
    part = at_recorded_tempo(excerpt(goal.passage, numbers[0], last), beside)
    return replace(
        goal, passage=part, first=numbered(part, goal.entry.bar), last=len(part.bars) - 1
    )


def course_tracks(
    goal: Goal, tempi: tuple[Bpm, ...], ending: str, *, recorded: bool
) -> Iterator[EntryTrack]:
    """Yield the tries at ``goal``, slowest first, at each tempo from all help to none."""
    steps = entry_steps(accompanied=recorded or bool(goal.passage.cue))
    chance = Random(SEED)  # noqa: S311  (no secret)
    number = 1
    for tempo in tempi:
        for each in entry_tracks(Course(goal.first, len(steps)), chance):
            begins = goal.passage.bars[_begin(goal, each)].number
            rest = f"from-bar-{begins}-{tempo_digits(tempo, tempi)}.{ending}"
            step = steps[each.help]
            name = step.name.replace(" ", "-")
            file, answer = f"{number:02}-{name}-{rest}", f"{number + 1:02}-answer-{rest}"
            yield EntryTrack(goal, each, tempo, begins, step, file, answer)
            number += 2


def entry_plan(track: EntryTrack, beside: Beside | None, *, answer: bool = False) -> Sounded:
    """Return what one hears in ``track`` or in its answer, and the pieces of the recording."""
    goal = track.goal
    part = part_from(goal, _begin(goal, track.tried))
    speed = track.tempo / goal.passage.tempo
    own = Layer.CUE if beside is None else Layer.ACCOMPANIMENT
    plan, pieces = _heard(part, beside, speed, Wishes(HELP | {own}, steps=(track.help,)))
    if answer:
        claps = Wishes(frozenset({Layer.CLAP}), steps=(ONLY_CLAPS,))
        plan = _answered(plan, _heard(part, beside, speed, claps)[0])
    return plan, pieces


def _begin(goal: Goal, tried: Try) -> int:
    return 0 if tried.from_top else goal.first - tried.lead


def _heard(part: Passage, beside: Beside | None, speed: float, wishes: Wishes) -> Sounded:
    if beside is not None:
        return over_recording(part, beside, wishes, speed=speed)
    return plan_track(lay_out(part, Practice(speed=speed, count_in=LEAD_IN)), wishes), ()


def _answered(plan: Plan, clapped: Plan) -> Plan:
    """Return ``plan`` with the claps of ``clapped`` from its entry on."""
    entry_s = plan.entries_s[-1] - ROUNDING_S
    claps = [
        each for each in clapped.prompts if each.layer is Layer.CLAP and each.time_s >= entry_s
    ]
    prompts = sorted((*plan.prompts, *claps), key=lambda each: each.time_s)
    return replace(plan, prompts=tuple(prompts))
