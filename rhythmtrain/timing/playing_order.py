"""The order in which bars are practised: count-in, repeats, what is heard before it is answered.

A passage is practised as a row of played bars.  Before it stand the bars of the count-in; between
repeats of a phrase with an upbeat, or where asked, a counted bar; with ``echo`` every group of
bars is heard once and then left empty for the answer.  Written time runs on through all of them.

*Run* is the how-manieth practising of the passage (from 1; 0 before the first); *repeat* is the
how-manieth time that a written bar comes round in the whole row.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from rhythmtrain.errors import RequestError
from rhythmtrain.score.passage import Bar, Passage
from rhythmtrain.score.repeats import as_played

MOST_REPEATS = 999
MOST_PLAYED_BARS = 100_000


class Role(StrEnum):
    """What a played bar is for."""

    COUNT_IN = "count-in"
    PASSAGE = "passage"
    LISTEN = "listen"
    ANSWER = "answer"
    BETWEEN = "between"


@dataclass(frozen=True, slots=True)
class Practice:
    """How a passage is practised: the options that tracks and checking share.

    ``speed`` is the share of the written tempo, ``repeats`` how often the passage is played,
    ``count_in`` the bars before it, ``echo`` the bars heard before as many are left empty
    (0: none), ``between`` the counted bars between repeats.
    """

    speed: float = 1.0
    repeats: int = 1
    count_in: int = 0
    echo: int = 0
    between: int = 0

    def __post_init__(self) -> None:
        """Refuse what cannot be practised."""
        if not 1 <= self.repeats <= MOST_REPEATS:
            raise RequestError(f"repeats must be 1 to {MOST_REPEATS}, got {self.repeats}")
        asked = {"count-in": self.count_in, "echo": self.echo, "between": self.between}
        for name, value in asked.items():
            if not 0 <= value <= MOST_REPEATS:
                raise RequestError(f"{name} must be 0 to {MOST_REPEATS} bars, got {value}")


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """One bar in playing order.

    ``index`` is its place in ``passage.bars``, or None for a counted bar that is not part of the
    passage; ``start`` is where it begins, in quarters.  ``nominal`` is where its beat 1 lies (or
    would lie, for an upbeat).
    """

    bar: Bar
    index: int | None
    start: Fraction
    role: Role
    run: int
    repeat: int

    @property
    def nominal(self) -> Fraction:
        """Return the quarter at which beat 1 of this bar lies or would lie."""
        return self.start - self.bar.begins

    @property
    def stop(self) -> Fraction:
        """Return the quarter at which the bar ends."""
        return self.start + self.bar.length


Row = tuple[int | None, Bar, Role, int]


def playing_order(passage: Passage, practice: Practice) -> tuple[PlayedBar, ...]:
    """Return the bars of ``passage`` in the order they are practised.

    Raises:
        RequestError: too many bars with all the repeats.
        DrillError: too many bars as played once.
    """
    _check_length(passage, practice)
    return _numbered(_rows(passage, practice))


def _check_length(passage: Passage, practice: Practice) -> None:
    once = len(as_played(passage.bars)) * (2 if practice.echo else 1)
    if once * practice.repeats > MOST_PLAYED_BARS:
        most = MOST_PLAYED_BARS // once
        raise RequestError(
            f"{practice.repeats} repeats of {once} bars are too many: at most {most} fit"
        )


def _rows(passage: Passage, practice: Practice) -> Iterator[Row]:
    """Yield (index, bar, role, run) in playing order."""
    order = as_played(passage.bars)
    opening, closing = passage.bars[order[0]], passage.bars[order[-1]]
    yield from _count_in(opening, practice.count_in)
    for run in range(1, practice.repeats + 1):
        if run > 1:
            yield from _between(closing, opening, practice.between, run)
        if practice.echo:
            yield from _echoed(passage, order, practice.echo, run)
        else:
            for index in order:
                yield index, passage.bars[index], Role.PASSAGE, run


def _echoed(passage: Passage, order: tuple[int, ...], size: int, run: int) -> Iterator[Row]:
    """Yield groups of ``size`` whole bars, each heard and then left empty; an upbeat joins one."""
    group: list[int] = []
    for place, index in enumerate(order):
        group.append(index)
        whole = len(group) - bool(passage.bars[group[0]].begins)
        if whole < size and place < len(order) - 1:
            continue
        first, last = passage.bars[group[0]], passage.bars[group[-1]]
        for role in (Role.LISTEN, Role.ANSWER):
            if role is Role.ANSWER and not _goes_on(last, first):
                yield from _between(last, first, 0, run)
            for member in group:
                yield member, passage.bars[member], role, run
        group = []


def _count_in(opening: Bar, bars: int) -> Iterator[Row]:
    """Yield ``bars`` counted bars that lead to ``opening``; the last fills up to an upbeat.

    An upbeat of more than half a bar leaves too little to count, so a whole bar is added.
    """
    fill = opening.begins if bars else Fraction(0)
    whole = bars - bool(fill) + (0 < fill * 2 < opening.metre.length)
    yield from _empty(opening, whole, fill, (Role.COUNT_IN, 0))


def _between(closing: Bar, opening: Bar, bars: int, run: int) -> Iterator[Row]:
    """Yield what is counted between two rows of bars, so that the metre goes on unbroken.

    A last bar that ends early is filled up, then come ``bars`` whole bars, and the last of them
    ends where the next row begins: a phrase with an upbeat is always led to.
    """
    metre = closing.metre
    if closing.ends < metre.length:
        yield None, Bar(0, metre, (), closing.ends, metre.length), Role.BETWEEN, run
    fill = opening.begins
    counted = metre.length - closing.ends + fill
    short = bool(fill) and counted * 2 < opening.metre.length
    yield from _empty(opening, max(0, bars - bool(fill)) + short, fill, (Role.BETWEEN, run))


def _empty(opening: Bar, whole: int, fill: Fraction, which: tuple[Role, int]) -> Iterator[Row]:
    """Yield ``whole`` empty bars in the metre of ``opening``, then one that ends at ``fill``."""
    role, run = which
    metre = opening.metre
    for _ in range(whole):
        yield None, Bar(0, metre, (), Fraction(0), metre.length), role, run
    if fill:
        yield None, Bar(0, metre, (), Fraction(0), fill), role, run


def _goes_on(before: Bar, after: Bar) -> bool:
    """Tell whether ``after`` can follow ``before`` at once, in metre."""
    return before.ends % before.metre.length == after.begins


def _numbered(rows: Iterator[Row]) -> tuple[PlayedBar, ...]:
    """Return the rows as played bars, with quarter 0 at the passage's first whole bar."""
    at = Fraction(0)
    zero: Fraction | None = None
    seen: dict[int, int] = {}
    bars: list[PlayedBar] = []
    for index, bar, role, run in rows:
        repeat = 0
        if index is not None:
            if role is not Role.ANSWER:
                seen[index] = seen.get(index, 0) + 1
            repeat = seen[index]
            if zero is None:
                zero = at + (bar.length if bar.begins else 0)
        bars.append(PlayedBar(bar, index, at, role, run, repeat))
        at += bar.length
    return tuple(replace(played, start=played.start - (zero or 0)) for played in bars)
