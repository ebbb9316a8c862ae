"""The state of a passage: what the player can do, how surely that is known, and at what tempo to go on.

**Evenness** is the spread of a bar's offsets over that of a steady player at that tempo (Baath and
Madison 2012; ``assess.tolerance``), and between which values it lies.  The logarithm of a spread
of n offsets has a standard error of about 1/sqrt(2(n - 1)).
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from math import exp, log, sqrt

from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.coach.estimate import Estimate, Row, estimate
from rhythmtrain.coach.evidence import BarRuns, EntryTries, Practised, Runs
from rhythmtrain.coach.ladder import mark_near
from rhythmtrain.coach.passing import SAME, next_tempo, once_passed, passed
from rhythmtrain.coach.settings import USUAL, Settings
from rhythmtrain.units import Bpm, beat_seconds

HALF = 0.5
NINETY = 1.645
FEWEST = 3.0


@dataclass(frozen=True, slots=True)
class TempoSkill:
    """One tempo: what is known of the share of right runs today, and whether it is passed.

    ``faded`` where it was passed once; ``days_right`` on how many days a run went right.
    """

    tempo: Bpm
    known: Estimate
    passed: bool
    faded: bool
    days_right: int


@dataclass(frozen=True, slots=True)
class Evenness:
    """The spread of a bar over that of a steady player, and where it lies with 90 %."""

    ratio: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class BarSkill:
    """One bar: what is known of the share of its notes that are there, and how even it is."""

    bar: int
    notes: Estimate
    evenness: Evenness | None
    weak: bool


@dataclass(frozen=True, slots=True)
class EntrySkill:
    """One entry, come in at without help (``alone``) and with it; ``passed`` is without."""

    bar: int
    count: str
    alone: Estimate
    helped: Estimate
    passed: bool


@dataclass(frozen=True, slots=True)
class PassageState:
    """What a player can do of one passage.

    ``tempi`` are in rising order; ``reached`` is the fastest that is passed, None where none is.
    ``next_tempo`` is where to go on.  ``days`` are those on which it was practised.
    """

    passage: str
    title: str
    tempo: float
    tempi: tuple[TempoSkill, ...]
    bars: tuple[BarSkill, ...]
    entries: tuple[EntrySkill, ...]
    reached: Bpm | None
    next_tempo: Bpm
    days: tuple[date, ...]

    @property
    def weak_bars(self) -> tuple[int, ...]:
        """Return the bars that are weak, the weakest first."""
        weak = [each for each in self.bars if each.weak]
        return tuple(each.bar for each in sorted(weak, key=lambda each: each.notes.share))

    @property
    def at_tempo(self) -> bool:
        """Return whether the written tempo is passed."""
        return self.reached is not None and self.reached * SAME >= self.tempo


def state_of(practised: Practised, today: date, settings: Settings = USUAL) -> PassageState:
    """Return the state of a passage on the day ``today``, from all that was heard of it."""
    tempi = tuple(_tempi(practised.runs, today, settings))
    reached = max((each.tempo for each in tempi if each.passed), default=None)
    return PassageState(
        practised.passage,
        practised.title,
        practised.tempo,
        tempi,
        tuple(_bars(practised.bars, today, settings)),
        tuple(_entries(practised.entries, today, settings)),
        reached,
        next_tempo(practised.tempo, reached, settings),
        tuple(day for day in practised.days if day <= today),
    )


def _tempi(runs: Iterable[Runs], today: date, settings: Settings) -> Iterable[TempoSkill]:
    marks: defaultdict[int, list[Runs]] = defaultdict(list)
    for each in runs:
        if each.day <= today:
            marks[mark_near(each.tempo)].append(each)
    for mark in sorted(marks):
        rows = _in_order((each.day, each.runs, each.right) for each in marks[mark])
        stands = passed(rows, today, settings)
        yield TempoSkill(
            Bpm(float(max(each.tempo for each in marks[mark]))),
            estimate(rows, today, settings.half_nights),
            stands,
            not stands and once_passed(rows, settings),
            len({day for day, _, right in rows if right}),
        )


def _in_order(rows: Iterable[Row]) -> list[Row]:
    """Return rows in rising order of days; those of a day stay as they are."""
    return sorted(rows, key=lambda row: row[0])


def _bars(rows: Iterable[BarRuns], today: date, settings: Settings) -> Iterable[BarSkill]:
    bars: defaultdict[int, list[BarRuns]] = defaultdict(list)
    for each in rows:
        if each.day <= today:
            bars[each.bar].append(each)
    for bar in sorted(bars):
        heard = _in_order(
            (each.day, each.matched + each.missed + each.extra, each.matched) for each in bars[bar]
        )
        notes = estimate(heard, today, settings.half_nights)
        even = _evenness(bars[bar], today, settings)
        missing = notes.wrong > HALF and notes.beyond(settings.notes) < HALF
        uneven = even is not None and even.low > settings.uneven
        yield BarSkill(bar, notes, even, weak=missing or uneven)


def _evenness(rows: Sequence[BarRuns], today: date, settings: Settings) -> Evenness | None:
    """Return how even a bar is, None where too little was heard."""
    squares = freedom = 0.0
    for each in rows:
        free = max(each.matched - each.takes, 0)
        if each.spread_s is not None and free:
            counts = free * 0.5 ** ((today - each.day).days / settings.half_nights)
            steady_s = float(spread_s(beat_seconds(each.tempo)))
            squares += counts * (each.spread_s / steady_s) ** 2
            freedom += counts
    if freedom < FEWEST or squares <= 0:
        return None
    ratio, off = sqrt(squares / freedom), NINETY / sqrt(2 * freedom)
    return Evenness(ratio, exp(log(ratio) - off), exp(log(ratio) + off))


def _entries(rows: Iterable[EntryTries], today: date, settings: Settings) -> Iterable[EntrySkill]:
    entries: defaultdict[tuple[int, str], list[EntryTries]] = defaultdict(list)
    for each in rows:
        if each.day <= today:
            entries[each.bar, each.count].append(each)
    for (bar, count), tries in sorted(entries.items()):
        alone = _in_order((each.day, each.tries, each.in_time) for each in tries if each.alone)
        helped = _in_order((each.day, each.tries, each.in_time) for each in tries if not each.alone)
        yield EntrySkill(
            bar,
            count,
            estimate(alone, today, settings.half_nights),
            estimate(helped, today, settings.half_nights),
            passed(alone, today, settings),
        )
