"""What was practised of a passage, out of the history: for the coach, and day by day."""

from collections import Counter, defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from functools import lru_cache

from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.coach.evidence import BarRuns, EntryTries, Practised, Runs
from rhythmtrain.coach.settings import USUAL, Settings
from rhythmtrain.coach.skill import state_of
from rhythmtrain.prompts.entry_help import WITH_ACCOMPANIST, WITH_CLICK
from rhythmtrain.report.days.days import total
from rhythmtrain.report.days.view import (
    BarOnDay,
    BarRow,
    EntryOnDay,
    EntryRow,
    Progress,
    TempoOnDay,
)
from rhythmtrain.storage.history.days import (
    BarDay,
    EntryDay,
    PassageKept,
    TakeSummary,
    TempoDay,
)
from rhythmtrain.storage.history.history import History
from rhythmtrain.units import beat_seconds

# Tries at an entry alone are no runs of the passage.
ENTRY_TRIES = frozenset(step.name for step in (*WITH_ACCOMPANIST, *WITH_CLICK))
ALONE = frozenset({WITH_ACCOMPANIST[-1].name, WITH_CLICK[-1].name})
ENOUGH_TO_FIND_ONE = 50
# What counts less than a thousandth of what is played today changes nothing.
HALVINGS = 10


def progress_of(
    history: History,
    kept: PassageKept,
    today: date,
    settings: Settings = USUAL,
    *,
    in_full: bool = True,
) -> Progress | None:
    """Return how a passage went from day to day; None where no take of it knows its tempo.

    Where it is not wanted ``in_full``, bars are told only of days that still count for the coach.
    """
    tempo = _written_tempo(history.summaries(kept.passage, limit=ENOUGH_TO_FIND_ONE))
    if tempo is None:
        return None
    counts_for = timedelta(days=HALVINGS * settings.half_nights)
    bars = history.bar_days(kept.passage, None if in_full else today - counts_for)
    entries = history.entry_days(kept.passage)
    runs = [each for each in history.tempo_days(kept.passage) if each.help not in ENTRY_TRIES]
    part = _part(runs)
    tempi = _of_part(runs, part)
    known = Practised(
        kept.passage,
        kept.title,
        tempo,
        tuple(Runs(each.day, each.tempo, each.takes, each.right) for each in tempi),
        tuple(_bar_runs(each) for each in bars),
        tuple(_entry_tries(each) for each in entries),
    )
    state = state_of(known, today, settings)
    by_bar = {each.bar: each for each in state.bars}
    by_place = {(each.bar, each.count): each for each in state.entries}
    return Progress(
        state,
        kept.takes,
        tuple(BarRow(bar, days, by_bar.get(bar)) for bar, days in _bars(bars)),
        tuple(EntryRow(*place, days, by_place.get(place)) for place, days in _entries(entries)),
        tempi,
        part,
    )


def _written_tempo(takes: tuple[TakeSummary, ...]) -> float | None:
    return next((each.tempo / each.speed for each in takes if each.tempo), None)


def _part(runs: Sequence[TempoDay]) -> str | None:
    """Return which bars are practised for the passage, None for all of them.

    Whoever always practises bars 17 to 24 of a long score practises these as a passage.
    """
    parts: Counter[str | None] = Counter()
    for each in runs:
        parts[each.bars] += each.takes
    return None if None in parts or not parts else parts.most_common(1)[0][0]


def _of_part(runs: Sequence[TempoDay], part: str | None) -> tuple[TempoOnDay, ...]:
    """Return the tempi of each day, to a whole beat a minute, of takes of ``part``."""
    takes: Counter[tuple[date, int]] = Counter()
    right: Counter[tuple[date, int]] = Counter()
    for each in runs:
        if each.bars == part:
            key = date.fromisoformat(each.day), max(round(each.tempo), 1)
            takes[key] += each.takes
            right[key] += each.clean
    return tuple(TempoOnDay(*key, takes[key], right[key]) for key in sorted(takes))


def _bars(rows: tuple[BarDay, ...]) -> list[tuple[int, tuple[BarOnDay, ...]]]:
    """Return every bar with its days, the tempi of a day as one."""
    days: defaultdict[int, defaultdict[str, list[BarOnDay]]] = defaultdict(
        lambda: defaultdict(list)
    )
    for each in rows:
        days[each.bar][each.day].append(_bar_on_day(each))
    return [
        (bar, tuple(total(days[bar][day]) for day in sorted(days[bar]))) for bar in sorted(days)
    ]


def _bar_on_day(each: BarDay) -> BarOnDay:
    return BarOnDay(
        date.fromisoformat(each.day),
        each.takes,
        each.matched,
        each.missed,
        each.extra,
        each.spread_s,
        _steady_s(each.tempo),
        each.habit_s,
    )


@lru_cache(maxsize=512)
def _steady_s(tempo: int) -> float:
    """Return the spread of a steady player in seconds, at so many beats a minute."""
    return float(spread_s(beat_seconds(max(tempo, 1))))


def _entries(rows: tuple[EntryDay, ...]) -> list[tuple[tuple[int, str], tuple[EntryOnDay, ...]]]:
    places: defaultdict[tuple[int, str], list[EntryOnDay]] = defaultdict(list)
    for each in rows:
        day = EntryOnDay(
            date.fromisoformat(each.day),
            each.help in ALONE,
            each.tries,
            each.in_time,
            each.best_s,
            each.last_s,
            each.last_verdict,
        )
        places[each.bar, each.count].append(day)
    return [(place, tuple(places[place])) for place in sorted(places)]


def _bar_runs(each: BarDay) -> BarRuns:
    return BarRuns(
        date.fromisoformat(each.day),
        float(max(each.tempo, 1)),
        each.bar,
        each.takes,
        each.matched,
        each.missed,
        each.extra,
        each.spread_s,
    )


def _entry_tries(each: EntryDay) -> EntryTries:
    day = date.fromisoformat(each.day)
    return EntryTries(day, each.bar, each.count, each.help in ALONE, each.tries, each.in_time)
