"""One try at an entry: which bars of the passage, and what sounds."""

from dataclasses import dataclass, replace
from itertools import takewhile

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.entry_help import entry_steps
from rhythmtrain.prompts.fading import HelpStep
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.remedies import remedy
from rhythmtrain.score.entries import Entry, entries_of
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Bar, EntryMark, Kind, Passage, numbered
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out

PHRASE_BARS = 4
LAYERS = frozenset({Layer.CLICK, Layer.COUNT, Layer.CUE})
WITH_RECORDING = frozenset({Layer.ACCOMPANIMENT, Layer.CLICK, Layer.COUNT})
MAY_SOUND = LAYERS | WITH_RECORDING
Bars = tuple[int, int]
EVERY: Bars = (0, 99_999)


@dataclass(frozen=True, slots=True)
class Goal:
    """The entry to be learnt, in a passage written out without repeat signs.

    ``first`` and ``last`` are the indices of its bar and of the last bar of its phrase; no try
    begins before the bar of index ``top``.  ``layers`` may sound.
    """

    passage: Passage
    entry: Entry
    first: int
    last: int
    top: int = 0
    layers: frozenset[Layer] = LAYERS

    @property
    def steps(self) -> tuple[HelpStep, ...]:
        """Return the steps of help, most first."""
        recorded = Layer.ACCOMPANIMENT in self.layers
        cued = bool(self.passage.cue) and Layer.CUE in self.layers
        return entry_steps(accompanied=cued or recorded)


def goal_of(
    passage: Passage, bar: int | None, layers: frozenset[Layer] = LAYERS, *, mapped: Bars = EVERY
) -> Goal:
    """Return the entry in ``bar``, or the one after the longest rest where that is None.

    ``mapped`` are the first and last bar that can sound.

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
    low, high = mapped
    heard = [each for each in here if low <= each.bar <= high]
    if not heard:
        raise RequestError(
            f"the beat map holds bars {low} to {high}, and the entry to practise is in bar "
            f"{here[0].bar}: map the bars before it and its phrase too {remedy('map')}"
        )
    entry = max(heard, key=lambda each: each.rest)
    first = numbered(plain, entry.bar)
    others = {numbered(plain, each.bar) for each in entries}
    last = first
    for index in range(first + 1, min(first + PHRASE_BARS, len(plain.bars))):
        bar_here = plain.bars[index]
        if index in others or not _sounds(bar_here) or bar_here.number > high:
            break
        last = index
    mark = EntryMark(entry.bar, entry.count, entry.prepare, entry.word)
    top = next(index for index, each in enumerate(plain.bars) if each.number >= low)
    return Goal(replace(plain, marks=(mark,)), entry, first, last, top, layers)


def try_part(goal: Goal, each: Try) -> Passage:
    """Return the bars of one try."""
    return part_from(goal, goal.top if each.from_top else goal.first - each.lead)


def part_from(goal: Goal, begin: int) -> Passage:
    """Return the bars from that of index ``begin`` to the end of the entry's phrase.

    Where they begin within a rest, its bars are counted on from the first of them.
    """
    bars = goal.passage.bars
    rest = takewhile(_silent, reversed(bars[:begin]))
    part = excerpt(goal.passage, bars[begin].number, bars[goal.last].number)
    return replace(part, rested=sum(1 for _ in rest))


def try_timeline(goal: Goal, each: Try, *, speed: float, count_in: int) -> Timeline:
    """Return the bars of one try, laid out."""
    return lay_out(try_part(goal, each), Practice(speed=speed, count_in=count_in))


def try_plan(goal: Goal, each: Try, timeline: Timeline) -> Plan:
    """Return what sounds in one try beside a recording: cue, as much help as its step gives."""
    return plan_track(timeline, Wishes(layers=goal.layers, steps=(goal.steps[each.help],)))


def _unrepeated(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    return tuple(replace(bar, opens=False, times=0, ending=0) for bar in bars)


def _silent(bar: Bar) -> bool:
    return bar.length == bar.metre.length and not _sounds(bar)


def _sounds(bar: Bar) -> bool:
    return any(place.kind is not Kind.SILENT for place in bar.places)
