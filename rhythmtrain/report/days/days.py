"""Days of progress put together, or cut to those from a day on."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from math import sqrt
from typing import Protocol, TypeVar

from rhythmtrain.report.days.view import BarOnDay, Progress


def since(progress: Progress, first: date) -> Progress:
    """Return ``progress`` from the day ``first`` on; bars and entries not played since are left out."""
    bars = (replace(row, days=_from(row.days, first)) for row in progress.bars)
    entries = (replace(row, days=_from(row.days, first)) for row in progress.entries)
    return replace(
        progress,
        bars=tuple(row for row in bars if row.days),
        entries=tuple(row for row in entries if row.days),
        tempi=_from(progress.tempi, first),
    )


class _OnDay(Protocol):
    """Something of one day."""

    @property
    def day(self) -> date:
        """Return the day."""
        ...


Dated = TypeVar("Dated", bound=_OnDay)


def _from(rows: tuple[Dated, ...], first: date) -> tuple[Dated, ...]:
    return tuple(each for each in rows if each.day >= first)


def total(days: Iterable[BarOnDay]) -> BarOnDay:
    """Return several tempi of a bar on one day as one; at least one must be given.

    Spreads are put together by their squares, habits by how many notes they rest on.
    """
    some = list(days)
    if len(some) == 1:
        return some[0]
    spread = [(each.free, each.spread_s) for each in some if each.spread_s is not None]
    habit = [(each.matched, each.habit_s) for each in some if each.habit_s is not None]
    return BarOnDay(
        some[0].day,
        sum(each.takes for each in some),
        sum(each.matched for each in some),
        sum(each.missed for each in some),
        sum(each.extra for each in some),
        None if not spread else sqrt(_mean([(free, size**2) for free, size in spread])),
        sqrt(_mean([(max(each.matched, 1), each.steady_s**2) for each in some])),
        None if not habit else _mean(habit),
    )


def _mean(weighed: Sequence[tuple[int, float]]) -> float:
    """Return the mean of (weight, value); all weigh the same where none has a weight."""
    whole = sum(weight for weight, _ in weighed)
    if not whole:
        return sum(value for _, value in weighed) / len(weighed)
    return sum(weight * value for weight, value in weighed) / whole
