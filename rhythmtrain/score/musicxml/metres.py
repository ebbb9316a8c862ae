"""Metres of a MusicXML file, and metres for bars whose length no metre was given for.

``<time>`` has one or more pairs of ``beats`` and ``beat-type``; several pairs (3/8 + 2/4) become groups
over the smallest of their lower numbers.  None stands for music without a metre.
"""

from fractions import Fraction
from itertools import pairwise
from math import ceil

from rhythmtrain.errors import DrillError
from rhythmtrain.score.metre import LARGEST_UPPER, LOWER_NUMBERS, Metre
from rhythmtrain.score.musicxml.markup import Node

LONGEST_GROUP = 3  # digits
UNITS = (*(unit for unit in LOWER_NUMBERS if unit >= 4), 2, 1)  # noqa: PLR2004  (quarters first)


def read_metre(time: Node) -> Metre | None:
    """Return the metre that a ``time`` element gives; None for senza misura, or for no real metre."""
    parts = [child for child in time.children if child.tag in ("beats", "beat-type")]
    pairs = [
        (first.text, second.text)
        for first, second in pairwise(parts)
        if (first.tag, second.tag) == ("beats", "beat-type")
    ]
    groups = [(_numbers(beats), _numbers(unit)) for beats, unit in pairs]
    if not groups or any(not beats or len(unit) != 1 for beats, unit in groups):
        return None
    unit = max(lower for _, (lower,) in groups)
    if any(unit % lower for _, (lower,) in groups):
        return None
    upper = [beat * (unit // lower) for beats, (lower,) in groups for beat in beats]
    try:
        return Metre(tuple(upper), unit)
    except DrillError:
        return None


def _numbers(text: str) -> tuple[int, ...]:
    """Return the numbers in "3+2", all more than 0, or nothing where it is no such text."""
    words = [word.strip() for word in text.split("+")]
    if not all(word.isascii() and word.isdigit() and len(word) <= LONGEST_GROUP for word in words):
        return ()
    numbers = tuple(map(int, words))
    return numbers if min(numbers) > 0 else ()


def metre_holding(length: Fraction) -> Metre:
    """Return the metre of exactly ``length`` quarters, or the nearest longer one that there is."""
    for unit in UNITS:
        upper = length * unit / 4
        if upper.denominator == 1 and upper <= LARGEST_UPPER:
            return Metre((int(upper),), unit)
    longer = ((ceil(length * unit / 4), unit) for unit in UNITS)
    nearest, unit = next(each for each in longer if each[0] <= LARGEST_UPPER)
    return Metre((nearest,), unit)
