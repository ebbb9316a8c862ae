"""Figures that are read wrongly, and where each note lands when they are.

A figure is a span (a beat, half of one, two of them) and the shares of it at which notes begin;
played wrongly, the same notes begin at other shares.  What a wrong reading does to the times is
its *shape*: so many quarters for each note that moves, and perhaps for everything after.  Beside
the span figures stand those that belong to a single note: one off the beat that is moved onto it,
a rest or a long note a beat too short or too long; and a whole bar rushed or dragged.

The names are words of the trade; ``FIGURES`` is the one table of span figures.  Where they stand
in a passage is found by ``places``; the sentences are in ``words``.
"""

from dataclasses import dataclass
from fractions import Fraction

# How much of a wrong figure must be there before it is named (0: as written, 1: fully wrong).
NAMED_FROM = 0.55
# A bar 15 % short is expression; it is spoken of when nearly all of 30 % is there.
BAR_SHARE = Fraction(3, 10)
BAR_NAMED_FROM = 0.9
BAR_DOUBT = 2.0
# The last bars of a run may slow down as much as they like.
BARS_OF_ENDING = 2
LONG_NOTE_BEATS = 3

SIMPLE, COMPOUND, HALF, THIRD, TWO = "beat", "compound beat", "half beat", "third", "two beats"
DOTTED = "dotted"
_NARROW = frozenset({SIMPLE, HALF, THIRD})
_WIDE = frozenset({SIMPLE, HALF, THIRD, TWO})
_BROAD = frozenset({SIMPLE, TWO})
_BEAT = frozenset({SIMPLE})
_COMPOUND = frozenset({COMPOUND})
_ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure and one wrong reading: shares of the span at which its notes begin."""

    what: str
    written: tuple[Fraction, ...]
    played: tuple[Fraction, ...]
    spans: frozenset[str]


def _figure(what: str, written: str, played: str, spans: frozenset[str]) -> Figure:
    return Figure(what, _shares(written), _shares(played), spans)


def _shares(text: str) -> tuple[Fraction, ...]:
    return (_ZERO, *(Fraction(share) for share in text.split()))


FIGURES: tuple[Figure, ...] = (
    _figure("dotted played even", "3/4", "1/2", _WIDE),
    _figure("dotted played as triplet", "3/4", "2/3", _BROAD),
    _figure("even played dotted", "1/2", "3/4", _NARROW),
    _figure("even played swung", "1/2", "2/3", _BEAT),
    _figure("swung played even", "2/3", "1/2", _BROAD),
    _figure("triplet played dotted", "2/3", "3/4", _BROAD),
    _figure("short-long played even", "1/4", "1/2", _BEAT),
    _figure("syncopation played as triplet", "1/4 3/4", "1/3 2/3", _BROAD),
    _figure("triplet as {half} and two {quarter}s", "1/3 2/3", "1/2 3/4", _BROAD),
    _figure("triplet as two {quarter}s and {half}", "1/3 2/3", "1/4 1/2", _BROAD),
    _figure("{half} and two {quarter}s as triplet", "1/2 3/4", "1/3 2/3", _BROAD),
    _figure("two {quarter}s and {half} as triplet", "1/4 1/2", "1/3 2/3", _BROAD),
    _figure("{half} and two {quarter}s turned round", "1/2 3/4", "1/4 1/2", _BEAT),
    _figure("two {quarter}s and {half} turned round", "1/4 1/2", "1/2 3/4", _BEAT),
    _figure("long-short played even", "2/3", "1/2", _COMPOUND),
    _figure("short-long played even", "1/3", "1/2", _COMPOUND),
    _figure("duplet played long-short", "1/2", "2/3", _COMPOUND),
    _figure("dotted played even", "1/2 2/3", "1/3 2/3", _COMPOUND),
    _figure("even played dotted", "1/3 2/3", "1/2 2/3", _COMPOUND),
)


@dataclass(frozen=True, slots=True)
class Chance:
    """A place where a figure can be read wrongly, and its shape.

    ``notes`` are indices into the timeline's notes: those of the figure.  ``moved`` gives
    (index, quarters) for each note that is displaced, positive is late; every expected note after
    the last of them moves by ``after`` quarters.  ``least`` is the share of the shape that must
    be there before the mistake is named, ``doubt`` how many times the usual evidence it needs.
    """

    what: str
    notes: tuple[int, ...]
    moved: tuple[tuple[int, Fraction], ...]
    after: Fraction = _ZERO
    least: float = NAMED_FROM
    doubt: float = 1.0
