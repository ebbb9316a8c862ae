"""The places of a bar as one says them: ``1``, ``2&``, ``3la``, ``2+1/5``.

A count is a beat of the metre in force, then a syllable for the place inside the beat.  The
tables here are the only ones: the count line's reader and writer, the spoken count, reports and
JSON all read them.  Syllables and their places are common practice ("1 e & a", "1 la li").
"""

import re
from fractions import Fraction

from rhythmtrain.errors import DrillError
from rhythmtrain.score.metre import Beat, Metre

# Place within a beat, as a share of it, by syllable.
SIMPLE_SYLLABLES: dict[str, Fraction] = {
    "e": Fraction(1, 4),
    "&": Fraction(1, 2),
    "a": Fraction(3, 4),
    "la": Fraction(1, 3),
    "li": Fraction(2, 3),
}
COMPOUND_SYLLABLES: dict[str, Fraction] = {"la": Fraction(1, 3), "li": Fraction(2, 3)}
# "ta" is the sixteenth after the last eighth named in a compound beat.
AFTER_EIGHTH = "ta"
SIXTEENTH_OF_COMPOUND = Fraction(1, 6)
# Other spellings that are read and never written.
SPELLINGS: dict[str, str] = {"+": "&", "trip": "la", "let": "li"}

FEW = (
    "no", "one", "two", "three", "four", "five", "six",
    "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip

_COMPOUND_NAMES: dict[Fraction, str] = {
    Fraction(0): "",
    Fraction(1, 6): "ta",
    Fraction(1, 3): "la",
    Fraction(1, 2): "lata",
    Fraction(2, 3): "li",
    Fraction(5, 6): "lita",
}
_SIMPLE_NAMES: dict[Fraction, str] = {
    Fraction(0): "",
    **{share: name for name, share in SIMPLE_SYLLABLES.items()},
}
_COUNT = re.compile(r"(\d{1,3}) ?(?:([a-z&]+|\+)|\+(\d{1,4})/(\d{1,4}))?", re.ASCII)


def inside_beat(beat: Beat, share: Fraction) -> str:
    """Return how the place ``share`` of the way through ``beat`` is written after its number."""
    table = (
        _COMPOUND_NAMES if beat.compound else _SIMPLE_NAMES if beat.simple else {Fraction(0): ""}
    )
    if share in table:
        return table[share]
    return f"+{share.numerator}/{share.denominator}"


def beat_at(metre: Metre, at: Fraction) -> int:
    """Return the index (from 0) of the beat that holds the place ``at`` quarters into the bar."""
    beats = metre.beats
    return max(index for index, beat in enumerate(beats) if beat.start <= at)


def count_name(metre: Metre, at: Fraction) -> str:
    """Return the count at ``at`` quarters into a bar, as tables and JSON write it: ``2&``."""
    index = beat_at(metre, at)
    beat = metre.beats[index]
    return f"{index + 1}{inside_beat(beat, (at - beat.start) / beat.length)}"


def place_of(metre: Metre, count: str) -> Fraction:
    """Return how many quarters into the bar the count ``2&`` lies.

    Raises:
        DrillError: not a count, or one that this metre lacks.
    """
    match = _COUNT.fullmatch(count.strip())
    if match is None:
        raise DrillError(f"{count!r} is not a count: write it like 1, 2& or 3+1/5")
    number = int(match[1])
    if not 1 <= number <= len(metre.beats):
        raise DrillError(missing_beat(metre, number))
    beat = metre.beats[number - 1]
    return beat.start + beat.length * _share(beat, match)


def missing_beat(metre: Metre, number: int) -> str:
    """Return the sentence for a beat that ``metre`` lacks."""
    have = len(metre.beats)
    words = FEW[have] if have < len(FEW) else str(have)
    counted = "" if metre.beat is None else f" counted in {metre.beat} beats"
    return f"beat {number} is named, but {metre}{counted} has {words} beat{'s' * (have != 1)}"


def syllable_share(beat: Beat, syllable: str, *, eighth: Fraction = Fraction(0)) -> Fraction:
    """Return how far into ``beat`` the place called ``syllable`` lies, as a share of the beat.

    ``eighth`` is the share of the last eighth named in a compound beat, which ``ta`` follows.

    Raises:
        DrillError: a beat of this length has no place of that name; the message says how to
            write it instead.
    """
    if beat.simple:
        name = SPELLINGS.get(syllable, syllable)
        if name in SIMPLE_SYLLABLES:
            return SIMPLE_SYLLABLES[name]
        raise DrillError(
            f"{syllable!r} belongs to beats that divide in three (6/8): here say e & a, or la li"
        )
    if beat.compound:
        if syllable in COMPOUND_SYLLABLES:
            return COMPOUND_SYLLABLES[syllable]
        if syllable == AFTER_EIGHTH:
            return eighth + SIXTEENTH_OF_COMPOUND
        raise DrillError(
            f"{syllable!r} belongs to beats that divide in two: here say la li for the second and "
            'third eighth and ta for the sixteenth after one, or count in eighths (beat = "eighth")'
        )
    raise DrillError(
        f"{syllable!r}: a beat of this length has no syllables; write the place like 1+2/5"
    )


def spoken_count(metre: Metre, at: Fraction) -> str:
    """Return the count as a sentence says it: "2", "the & of 2"; finer places by their share."""
    name = count_name(metre, at)
    number = str(beat_at(metre, at) + 1)
    inside = name.removeprefix(number)
    if not inside:
        return number
    word = {"&": "and", "lata": "ta after la", "lita": "ta after li"}.get(inside, inside)
    if word.startswith("+"):
        return f"{word.removeprefix('+')} after {number}"
    return f"the {word} of {number}"


def _share(beat: Beat, match: "re.Match[str]") -> Fraction:
    if match[3]:
        if not 0 < int(match[3]) < int(match[4]):
            raise DrillError(f"{match[0]!r}: the fraction must lie inside the beat, like 2+1/5")
        return Fraction(int(match[3]), int(match[4]))
    inside = match[2] or ""
    inside = SPELLINGS.get(inside, inside) if beat.simple else inside
    table = _COMPOUND_NAMES if beat.compound else _SIMPLE_NAMES
    for share, name in table.items():
        if name == inside:
            return share
    raise DrillError(f"{match[0]!r}: a beat of this length has no place called {inside!r}")
