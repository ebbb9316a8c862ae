"""Where a bar needs tuplets: spans whose notes do not lie on halves of halves of a beat.

A span is as short as its notes allow: half a beat, a beat, or as many beats as a note that ends on
no plain place reaches over.  So three even notes over two beats are one triplet under one bracket.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from rhythmtrain.score.metre import Metre

Span = tuple[Fraction, Fraction]
FEWEST_HALVINGS = Fraction(1, 4)


@dataclass(frozen=True, slots=True)
class Tuplet:
    """``notes`` in the time of ``time``, from ``start`` to ``stop`` quarters into the bar."""

    start: Fraction
    stop: Fraction
    notes: int
    time: int

    @property
    def ratio(self) -> Fraction:
        """Return the printed length of a note over its length as it sounds."""
        return Fraction(self.notes, self.time)


def tuplets_of(metre: Metre, edges: Iterable[Span]) -> tuple[Tuplet, ...]:
    """Return the tuplets of a bar whose notes and rests reach from edge to edge, in order."""
    stretches = list(edges)
    found: list[Tuplet] = []
    for start, stop in _spans(metre, stretches):
        found += _within(start, stop, stretches)
    return tuple(found)


def _spans(metre: Metre, stretches: list[Span]) -> Iterator[Span]:
    """Yield the beats, joined where even notes reach over them."""
    edges = [beat.start for beat in metre.beats] + [metre.length]
    first = 0
    while first < len(edges) - 1:
        last = first + 1
        if _reaches_over(edges[last], stretches):
            wider = range(first + 2, len(edges))
            last = next((n for n in wider if _even(edges[first], edges[n], stretches)), last)
        yield edges[first], edges[last]
        first = last


def _reaches_over(edge: Fraction, stretches: list[Span]) -> bool:
    return any(low < edge < high and (_odd(low) or _odd(high)) for low, high in stretches)


def _even(start: Fraction, stop: Fraction, stretches: list[Span]) -> bool:
    """Return whether a span is filled by notes on an odd number of even steps, and shut off."""
    if _reaches_over(stop, stretches):
        return False
    places = {place for low, high in stretches for place in (low, high) if start < place < stop}
    step = (stop - start) / _odd_part((stop - start).denominator, start, places)
    return all(((place - start) / step).denominator == 1 for place in places)


def _within(start: Fraction, stop: Fraction, stretches: list[Span]) -> Iterator[Tuplet]:
    """Yield the tuplets of one span, as short as can be."""
    places = {place for low, high in stretches for place in (low, high) if start < place < stop}
    length = stop - start
    part = _odd_part(length.denominator, start, places)
    if part == 1:
        return
    middle = start + length / 2
    halved = middle in places or not any(low < middle < high for low, high in stretches)
    if halved and length > FEWEST_HALVINGS and not _odd(middle):
        yield from _within(start, middle, stretches)
        yield from _within(middle, stop, stretches)
        return
    # The part of the odd number that the length of the span itself has needs no tuplet.
    notes = lcm(part, (length).numerator) // length.numerator if length.numerator % part else part
    notes = notes if notes > 1 else part
    time = 1 << (notes.bit_length() - 1)
    yield Tuplet(start, stop, notes, time)


def _odd_part(whole: int, start: Fraction, places: set[Fraction]) -> int:
    """Return the odd part of the number of equal steps on which all ``places`` lie."""
    steps = lcm(whole, *((place - start).denominator for place in places))
    while steps % 2 == 0:
        steps //= 2
    return steps


def _odd(place: Fraction) -> bool:
    return place.denominator & (place.denominator - 1) != 0
