"""Note values in short words: "quarter", "dotted 8th", "triplet 8th", "quarter~16th".

A length that is no single note value is written as one writes it: parts joined by a tie, broken at
the beats.  A tuplet may cross a beat only where its whole group is there to be seen (three notes in
the time of two, evenly from the group's beginning), so a triplet eighth tied to a quarter is not
taken for a triplet half.
"""

from fractions import Fraction
from itertools import pairwise
from math import floor

from rhythmtrain.score.metre import BRITISH_NAMES, NOTE_VALUES, PLAIN_VALUES, Metre, value_name

SHORT: dict[str, str] = {
    "eighth": "8th",
    "sixteenth": "16th",
    "thirty-second": "32nd",
    "sixty-fourth": "64th",
}
# How many notes in the time of how many, by what they are called.
TUPLETS: dict[str, tuple[int, int]] = {
    "triplet": (3, 2),
    "quintuplet": (5, 4),
    "septuplet": (7, 4),
    "nonuplet": (9, 8),
}
TIE = "~"
LONGEST_NAME = 40
FINEST = min(PLAIN_VALUES.values())

Marks = frozenset[Fraction]


def written_value(
    metre: Metre, start: Fraction, stop: Fraction, marks: Marks, *, british: bool = False
) -> str:
    """Return the note value from ``start`` to ``stop`` quarters into a bar, parts joined by ties.

    ``marks`` are the places of the bar at which anything begins or ends.
    """
    parts = _parts(metre, start, stop, marks, british=british)
    name = TIE.join(parts)
    if len(name) <= LONGEST_NAME:
        return name
    return f"{stop - start} {value_name(Fraction(1), british=british)}s long"


def _parts(
    metre: Metre, start: Fraction, stop: Fraction, marks: Marks, *, british: bool
) -> list[str]:
    """Return the names of the single values that make up the length, in order."""
    single = _single(metre, start, stop, marks, british=british)
    if single is not None:
        return [single]
    inner = [beat.start for beat in metre.beats if start < beat.start < stop]
    if not inner:
        return _tied(stop - start, british=british)
    on_a_beat = any(beat.start == start for beat in metre.beats)
    begin = start if on_a_beat else inner[0]
    whole = begin != start and _single(metre, begin, stop, marks, british=british) is not None
    turns = [start, *sorted({begin, stop if whole else inner[-1], stop} - {start})]
    names = []
    for begin, end in pairwise(turns):
        part = _single(metre, begin, end, marks, british=british)
        names += _tied(end - begin, british=british) if part is None else [part]
    return names


def _single(
    metre: Metre, start: Fraction, stop: Fraction, marks: Marks, *, british: bool
) -> str | None:
    """Return the one value the length can be written with where it lies, or None."""
    length = stop - start
    if _even(start) and _even(stop):
        name = value_name(length, british=british)
        return None if name is None else short(name)
    crossing = any(start < beat.start < stop for beat in metre.beats)
    for tuplet, (notes, time) in TUPLETS.items():
        name = value_name(length * notes / time, british=british)
        if name is None or (crossing and not _whole_group(start, length, notes, marks)):
            continue
        return f"{tuplet} {short(name)}"
    return None


def _whole_group(start: Fraction, length: Fraction, notes: int, marks: Marks) -> bool:
    """Return True when every mark of the group that ``start`` lies in is an even step from it."""
    group = length * notes
    begin = floor(start / group) * group
    inside = [mark - begin for mark in marks if begin <= mark < begin + group]
    return all((mark / length).denominator == 1 for mark in inside) and len(inside) > 1


def _even(place: Fraction) -> bool:
    return place.denominator & (place.denominator - 1) == 0


def _tied(length: Fraction, *, british: bool) -> list[str]:
    """Return the values, longest first, that are tied to make ``length``; no metre is asked."""
    if (length / FINEST).denominator != 1:
        return [f"{length} {value_name(Fraction(1), british=british)}"]
    usage = [
        (value, name)
        for name, value in NOTE_VALUES.items()
        if (name.removeprefix("dotted ") in BRITISH_NAMES.values()) == british
    ]
    names = []
    for value, name in sorted(usage, reverse=True):
        while value <= length:
            names.append(short(name))
            length -= value
    return names


def plural(name: str) -> str:
    """Return a note value's name for several: "8ths", "dotted halves"."""
    return f"{name.removesuffix('f')}ves" if name.endswith("half") else f"{name}s"


def short(name: str) -> str:
    """Return a note value's name as it is written over a count: "dotted 8th"."""
    dot, _, plain = name.rpartition(" ")
    return f"{dot} {SHORT.get(plain, plain)}".strip()
