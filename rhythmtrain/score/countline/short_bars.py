"""Bars that are cut short, put so that a count line can say them.

A count line has no sign for a bar that is shorter than its metre, but for an upbeat and the bar
before a repeat that leads to it.  A score has others: the last bar that gives back what the upbeat
took, a bar parted by a double bar line.  Such a bar is written in a metre of its own, as long as it is:
every note keeps its place, its length and its second, and where its beats are those of the metre
around it (two quarters of 4/4) its counts too.  Who practises the passage again and again has another
number of beats between two times, so ``CutShort`` keeps what such a bar was.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.metre import LOWER_NUMBERS, Metre
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import Bar, Passage

WHOLE = 4


@dataclass(frozen=True, slots=True)
class CutShort:
    """A bar that was cut short, by its index: its metre, and how many quarters into it it begins."""

    index: int
    metre: str
    begins: Fraction


def in_sayable_bars(passage: Passage) -> Passage:
    """Return ``passage`` with the bars that are cut short in metres of their own, where that is needed.

    Raises:
        DrillError: a count line cannot say its bars even so.
    """
    if _sayable(passage.bars):
        return passage
    last = len(passage.bars) - 1
    for chosen in (lambda index: index == last, lambda index: index > 0, lambda _: True):
        bars = tuple(_own_metres(passage.bars, chosen))
        if bars != passage.bars and _sayable(bars):
            return replace(passage, bars=bars, cue=tuple(_own_metres(passage.cue, chosen)))
    write_bars(passage.bars)  # says what it is that cannot be said
    return passage


def cut_short(before: Passage, after: Passage) -> tuple[CutShort, ...]:
    """Return what the bars were that have a metre of their own in ``after`` and had not in ``before``."""
    return tuple(
        CutShort(index, str(old.metre), old.begins)
        for index, (old, new) in enumerate(zip(before.bars, after.bars, strict=True))
        if new.metre != old.metre
    )


def put_back(passage: Passage, cuts: Sequence[CutShort]) -> Passage:
    """Return ``passage`` with the bars that ``cuts`` name short bars of their old metre again.

    Raises:
        DrillError: a cut that is no part of a bar of its metre.
    """
    old = {cut.index: cut for cut in cuts}

    def restored(bars: Sequence[Bar]) -> tuple[Bar, ...]:
        return tuple(
            _put_back(bar, old[index]) if index in old else bar for index, bar in enumerate(bars)
        )

    return replace(passage, bars=restored(passage.bars), cue=restored(passage.cue))


def _put_back(bar: Bar, cut: CutShort) -> Bar:
    metre = Metre.parse(cut.metre).with_beat(bar.metre.beat)
    places = tuple(replace(place, at=place.at + cut.begins) for place in bar.places)
    return replace(bar, metre=metre, places=places, begins=cut.begins, ends=cut.begins + bar.length)


def _sayable(bars: tuple[Bar, ...]) -> bool:
    try:
        write_bars(bars)
    except DrillError:
        return False
    return True


def _own_metres(bars: Sequence[Bar], chosen: Callable[[int], bool]) -> Iterator[Bar]:
    """Yield ``bars``, those that are short and ``chosen`` by their index in a metre of their own."""
    for index, bar in enumerate(bars):
        metre = _metre_of(bar) if chosen(index) and bar.length != bar.metre.length else None
        if metre is None:
            yield bar
            continue
        places = tuple(replace(place, at=place.at - bar.begins) for place in bar.places)
        short = replace(bar, metre=metre, places=places, begins=Fraction(0), ends=bar.length)
        yield every_beat_named((short,))[0] if places else short


def _metre_of(bar: Bar) -> Metre | None:
    """Return a metre as long as the bar, in the largest note value that divides it, or None."""
    units = [unit for unit in LOWER_NUMBERS if unit >= bar.metre.unit]
    counts = [(bar.length * unit / WHOLE, unit) for unit in units]
    return next((Metre((int(n),), unit) for n, unit in counts if n.denominator == 1), None)
