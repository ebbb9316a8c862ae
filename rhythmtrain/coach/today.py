"""What to do today: which passages, which bars of them, at what tempo, and why.

Practice is spread over nights, since it is a night that makes a passage more exact, while gaps of
minutes change nothing (Simmons 2012; Wiseheart, D'Souza and Chae 2017).  So what was practised
today waits for tomorrow, what is not yet at its tempo comes every day, and what is at its tempo
rests, longer each time it stood; how long is custom.  First comes what has waited longest beyond
its rest.  A day has few passages.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum

from rhythmtrain.coach.passing import slower
from rhythmtrain.coach.settings import USUAL, Settings
from rhythmtrain.coach.skill import PassageState
from rhythmtrain.units import Bpm

MOST_BARS = 3
MOST_DOUBLINGS = 16


class Why(StrEnum):
    """The one reason why something is on the plan, or is not."""

    NEW = "new"
    SLOW_FIRST = "slow first"
    WEAK_BARS = "weak bars"
    FASTER = "faster"
    FADED = "faded"
    ENTRY = "entry"
    HOLD = "hold"
    A_NIGHT_FIRST = "a night first"
    RESTS = "rests"
    ENOUGH = "enough for a day"


@dataclass(frozen=True, slots=True)
class Item:
    """One thing to do today.

    ``bars`` are those to do alone, empty for all of it; ``entry`` is the bar and count of an
    entry to practise, None for the rhythm.  ``tempo`` is in beats a minute, ``reached`` the
    fastest that is passed (None: none yet), ``nights`` how many lie since it was last practised
    (None: never).
    """

    passage: str
    title: str
    tempo: Bpm
    why: Why
    bars: tuple[int, ...] = ()
    entry: tuple[int, str] | None = None
    reached: Bpm | None = None
    nights: int | None = None


@dataclass(frozen=True, slots=True)
class Later:
    """A passage that is not for today: from which day on it is, and why not before."""

    passage: str
    title: str
    due: date
    why: Why


@dataclass(frozen=True, slots=True)
class Today:
    """The plan of a day: ``items`` in the order in which to do them, and what is for later."""

    items: tuple[Item, ...]
    later: tuple[Later, ...]


def plan_for_today(
    states: Iterable[PassageState], today: date, settings: Settings = USUAL
) -> Today:
    """Return what to do on the day ``today`` with the passages whose ``states`` are given.

    A passage is planned once, however often it is given: the first state counts.
    """
    known: dict[str, PassageState] = {}
    for state in states:
        known.setdefault(state.passage, state)
    due = [each for each in known.values() if due_on(each, settings) <= today]
    due.sort(key=lambda each: (each.at_tempo, -_waited(each, today, settings), each.passage))
    chosen, left = due[: settings.passages], due[settings.passages :]
    later = [_later(each, settings) for each in known.values() if each not in due]
    more = [Later(each.passage, each.title, today, Why.ENOUGH) for each in left]
    return Today(
        tuple(item for state in chosen for item in _items(state, today, settings)),
        (*more, *sorted(later, key=lambda each: (each.due, each.passage))),
    )


def due_on(state: PassageState, settings: Settings = USUAL) -> date:
    """Return the day from which on a passage is to be practised again."""
    if not state.days:
        return date.min
    return state.days[-1] + timedelta(days=_rest(state, settings))


def _rest(state: PassageState, settings: Settings) -> int:
    """Return how many nights a passage rests after it was practised last."""
    if not state.at_tempo or state.weak_bars or not all(each.passed for each in state.entries):
        return 1
    stood = max((each.days_right for each in state.tempi if each.tempo == state.reached), default=1)
    doubled: int = settings.first_rest << min(max(stood - 1, 0), MOST_DOUBLINGS)
    return min(doubled, settings.longest_rest)


def _waited(state: PassageState, today: date, settings: Settings) -> float:
    """Return how long a passage has waited, in rests."""
    if not state.days:
        return 1.0
    return (today - state.days[-1]).days / _rest(state, settings)


def _later(state: PassageState, settings: Settings) -> Later:
    why = Why.RESTS if _rest(state, settings) > 1 else Why.A_NIGHT_FIRST
    return Later(state.passage, state.title, due_on(state, settings), why)


def _items(state: PassageState, today: date, settings: Settings) -> Iterator[Item]:
    """Yield what to do of one passage: weak bars alone and slower, all of it, then an entry."""
    nights = (today - state.days[-1]).days if state.days else None
    whole = Item(
        state.passage, state.title, state.next_tempo, _why(state),
        reached=state.reached, nights=nights,
    )  # fmt: skip
    weak = tuple(sorted(state.weak_bars[:MOST_BARS]))
    if weak:
        tempo = slower(state.next_tempo, settings)
        yield replace(whole, why=Why.WEAK_BARS, tempo=tempo, bars=weak)
    yield whole
    entries = [each for each in state.entries if not each.passed]
    if entries:
        weakest = min(entries, key=lambda each: each.alone.share)
        tempo = state.reached or state.next_tempo
        yield replace(whole, why=Why.ENTRY, tempo=tempo, entry=(weakest.bar, weakest.count))


def _why(state: PassageState) -> Why:
    if not state.tempi:
        return Why.NEW
    if state.at_tempo:
        return Why.HOLD
    if state.reached is not None:
        return Why.FASTER
    return Why.FADED if any(each.faded for each in state.tempi) else Why.SLOW_FIRST
