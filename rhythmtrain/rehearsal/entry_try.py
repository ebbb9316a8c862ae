"""One try at an entry: which bars of the passage, what sounds, and how the player came in."""

from dataclasses import dataclass, replace

from rhythmtrain.assess.lone_entry import CameIn, lone_entry
from rhythmtrain.coach.entry_course import Try
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.entry_help import entry_steps
from rhythmtrain.prompts.fading import HelpStep
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.checked import Checked
from rhythmtrain.rehearsal.live_take import Performance
from rhythmtrain.score.entries import Entry, entries_of
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Bar, EntryMark, Kind, Passage, numbered
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out

PHRASE_BARS = 4
LAYERS = frozenset({Layer.CLICK, Layer.COUNT, Layer.CUE})
NOT_REACHED = CameIn("missed", good=False)


@dataclass(frozen=True, slots=True)
class Goal:
    """The entry to be learnt, in a passage written out without repeat signs.

    ``first`` and ``last`` are the indices of its bar and of the last bar of its phrase.
    """

    passage: Passage
    entry: Entry
    first: int
    last: int

    @property
    def steps(self) -> tuple[HelpStep, ...]:
        """Return the steps of help, most first."""
        return entry_steps(accompanied=bool(self.passage.cue))


def goal_of(passage: Passage, bar: int | None) -> Goal:
    """Return the entry in ``bar``, or the one after the longest rest where that is None.

    Raises:
        RequestError: the passage has no entry, or none there.
    """
    plain = replace(passage, bars=_unrepeated(passage.bars), cue=_unrepeated(passage.cue))
    entries = entries_of(plain)
    if not entries:
        raise RequestError(
            f"{passage.title} has no entry: no rest of a bar or more comes before a note, and the "
            "drill marks none with [[entry]]"
        )
    bars = ", ".join(str(each.bar) for each in entries)
    here = [each for each in entries if bar in (None, each.bar)]
    if not here:
        raise RequestError(f"there is no entry in bar {bar}: {passage.title} has them in {bars}")
    entry = max(here, key=lambda each: each.rest)
    first = numbered(plain, entry.bar)
    others = {numbered(plain, each.bar) for each in entries}
    last = first
    for index in range(first + 1, min(first + PHRASE_BARS, len(plain.bars))):
        if index in others or not _sounds(plain.bars[index]):
            break
        last = index
    mark = EntryMark(entry.bar, entry.count, entry.prepare, entry.word)
    return Goal(replace(plain, marks=(mark,)), entry, first, last)


def try_timeline(goal: Goal, each: Try, *, speed: float, count_in: int) -> Timeline:
    """Return the bars of one try, laid out."""
    begin = 0 if each.from_top else goal.first - each.lead
    bars = goal.passage.bars
    part = excerpt(goal.passage, bars[begin].number, bars[goal.last].number)
    return lay_out(part, Practice(speed=speed, count_in=count_in))


def try_plan(goal: Goal, each: Try, timeline: Timeline) -> Plan:
    """Return what sounds in one try: the cue, and as much help as its step gives."""
    return plan_track(timeline, Wishes(layers=LAYERS, steps=(goal.steps[each.help],)))


def came_in(goal: Goal, checked: Checked, performance: Performance) -> tuple[CameIn, float | None]:
    """Return how the player came in at the goal, and by how many seconds late."""
    wanted = (goal.entry.bar, goal.entry.count)
    found = [each for each in checked.findings.entries if (each.bar, each.count) == wanted]
    if not found:
        return NOT_REACHED, None
    came = lone_entry(
        found[0],
        uncertainty_s=checked.heard.playing.uncertainty_s,
        delay_error_s=performance.delay.error_s,
    )
    return came, found[0].offset_s


def _unrepeated(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    return tuple(replace(bar, opens=False, times=0, ending=0) for bar in bars)


def _sounds(bar: Bar) -> bool:
    return any(place.kind is not Kind.SILENT for place in bar.places)
