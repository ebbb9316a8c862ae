"""How long a note lasts: its ``duration`` over the divisions, or what is printed.

``duration`` counts parts of a quarter and is what moves the music on.  Coarse divisions round it: the
eighths of a triplet in divisions of 4 are written 1, 1, 2.  Where the printed length (``type``, dots, and
the ratio of ``time-modification``) is no whole number of divisions, and the duration is less than
one division away from it, the printed length is meant.

So a bar keeps two clocks, the file's and the exact one; where the file goes back (``backup``) to a
place it has been to, the exact clock goes there too.
"""

import re
from fractions import Fraction
from functools import lru_cache

from rhythmtrain.score.musicxml.markup import Node

NOTE_TYPES: dict[str, Fraction] = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    **{f"{name}": Fraction(4, number) for name, number in (
        ("16th", 16), ("32nd", 32), ("64th", 64), ("128th", 128), ("256th", 256),
        ("512th", 512), ("1024th", 1024),
    )},
}  # fmt: skip
MOST_DOTS = 4
# Decimal durations (0.3333 of a quarter) mean the simple fraction that they were rounded from.
FINEST = 960
ROUNDED_DECIMAL = Fraction(1, 500)
_NUMBER = re.compile(r"[+-]?(\d{1,12}(\.\d{0,12})?|\.\d{1,12})", re.ASCII)


@lru_cache(maxsize=4_096)
def number(text: str) -> Fraction | None:
    """Return the decimal number ``text`` exactly, or None where it is none or is out of all range."""
    text = text.strip()
    return Fraction(text) if _NUMBER.fullmatch(text) else None


@lru_cache(maxsize=4_096)
def quarters(text: str, divisions: Fraction) -> Fraction | None:
    """Return a ``duration`` in quarters, 0 or more, or None where it says none."""
    value = number(text)
    if value is None or value < 0:
        return None
    length = value / divisions
    if "." in text and length.denominator > FINEST:
        near = length.limit_denominator(FINEST)
        return near if abs(near - length) <= ROUNDED_DECIMAL else length
    return length


def printed_length(note: Node) -> Fraction | None:
    """Return how long a note is by type, dots and tuplet, in quarters, or None."""
    value = NOTE_TYPES.get(note.text_of("type"))
    if value is None:
        return None
    dots = min(len(note.all("dot")), MOST_DOTS)
    ratio = tuplet_ratio(note)
    if dots:
        value *= 2 - Fraction(1, 2**dots)
    return value if ratio is None else value * ratio


def tuplet_ratio(note: Node) -> Fraction | None:
    """Return by what a tuplet shortens a note (2/3 in a triplet), or None outside tuplets."""
    change = note.child("time-modification")
    if change is None:
        return None
    actual, normal = number(change.text_of("actual-notes")), number(change.text_of("normal-notes"))
    return normal / actual if actual and normal and min(actual, normal) > 0 else None


def exact_length(note: Node, written: Fraction | None, divisions: Fraction) -> Fraction:
    """Return how long a note lasts in quarters; ``written`` is its ``duration``, or None."""
    printed = printed_length(note)
    if written is None or printed is None:
        return written or printed or Fraction(0)
    if written == printed:
        return written
    rounded = (printed * divisions).denominator > 1
    return printed if rounded and abs(written - printed) < 1 / divisions else written


class BarClock:
    """Where in a bar the file is: in the file's own rounded time, and exactly."""

    __slots__ = ("_been", "exact", "exact_end", "filed", "filed_end")

    def __init__(self) -> None:
        """Stand at the beginning of the bar."""
        self.filed = self.exact = self.filed_end = self.exact_end = Fraction(0)
        self._been = {Fraction(0): Fraction(0)}

    def go(self, filed: Fraction, exact: Fraction) -> None:
        """Move on over a note or rest that lasts ``filed`` in the file and ``exact`` in truth."""
        self.filed += filed
        self.exact += exact
        self._been[self.filed] = self.exact

    def jump(self, filed: Fraction) -> None:
        """Move back or on without music, never before the beginning of the bar."""
        self.filed = max(self.filed + filed, Fraction(0))
        self.exact = self._been.setdefault(self.filed, self.filed)

    def fill(self) -> None:
        """Count what was read up to here as filling the bar."""
        self.filed_end = max(self.filed_end, self.filed)
        self.exact_end = max(self.exact_end, self.exact)
