"""Metre: what a bar holds, and which note value gets one count.

A metre is its upper number, perhaps in groups (3+2), over its lower number.  How one counts it is
said once, by the note value that gets a count: a dotted quarter in 6/8, 9/8 and 12/8, the lower
number elsewhere, unless the drill says ``beat``.  With ``beat = "group"`` every group is a beat,
so beats may differ in length.

All lengths are exact fractions of a quarter note.
"""

import re
from dataclasses import dataclass
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from itertools import accumulate

from rhythmtrain.errors import DrillError

LOWER_NUMBERS = (1, 2, 4, 8, 16, 32)
LARGEST_UPPER = 64

PLAIN_VALUES: dict[str, Fraction] = {
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "sixteenth": Fraction(1, 4),
    "thirty-second": Fraction(1, 8),
    "sixty-fourth": Fraction(1, 16),
}
BRITISH_NAMES: dict[str, str] = {
    "whole": "semibreve",
    "half": "minim",
    "quarter": "crotchet",
    "eighth": "quaver",
    "sixteenth": "semiquaver",
    "thirty-second": "demisemiquaver",
    "sixty-fourth": "hemidemisemiquaver",
}
NOTE_VALUES: dict[str, Fraction] = {
    f"{dot}{name}": value * length
    for dot, length in (("", Fraction(1)), ("dotted ", Fraction(3, 2)))
    for plain, value in PLAIN_VALUES.items()
    for name in (plain, BRITISH_NAMES[plain])
}
GROUP = "group"
COMPOUND_UPPERS = (6, 9, 12)
COMPOUND_LOWER = 8
DIVIDES_IN_THREE = 3


@dataclass(frozen=True, slots=True)
class Beat:
    """One count of the bar: where it begins in the bar, how long it is, how it divides."""

    start: Fraction
    length: Fraction

    @property
    def compound(self) -> bool:
        """Return True when the beat divides in three (a dotted value)."""
        return self.length.numerator == DIVIDES_IN_THREE

    @property
    def simple(self) -> bool:
        """Return True when the beat divides in two (an undotted value)."""
        return self.length.numerator & (self.length.numerator - 1) == 0


@dataclass(frozen=True, slots=True)
class Metre:
    """A metre such as 4/4, 6/8 or 3+2/8, with the note value that gets one count.

    ``groups`` is the upper number, in groups where written so: (4,), (3, 2).  ``beat`` is a name
    from ``NOTE_VALUES``, "group", or None for the ordinary way of counting.

    Raises:
        DrillError: a number no metre has, or a beat that does not fill the bar exactly.
    """

    groups: tuple[int, ...]
    unit: int
    beat: str | None = None

    def __post_init__(self) -> None:
        """Refuse what is not a metre."""
        if self.unit not in LOWER_NUMBERS:
            allowed = ", ".join(map(str, LOWER_NUMBERS))
            raise DrillError(f"metre {self}: the lower number must be one of {allowed}")
        if not self.groups or min(self.groups) < 1 or sum(self.groups) > LARGEST_UPPER:
            raise DrillError(f"metre {self}: the upper number must be 1 to {LARGEST_UPPER}")
        if self.beat is None or self.beat == GROUP:
            return
        if self.beat not in NOTE_VALUES:
            near = get_close_matches(self.beat, [*NOTE_VALUES, GROUP], n=1)
            hint = f"; did you mean {near[0]!r}?" if near else ""
            raise DrillError(
                f"there is no beat {self.beat!r}{hint} (say quarter, dotted quarter …)"
            )
        if self.length % NOTE_VALUES[self.beat]:
            raise DrillError(f"a bar of {self} cannot be counted in {self.beat} beats")

    @classmethod
    def parse(cls, text: str, *, beat: str | None = None) -> "Metre":
        """Return the metre written as ``text``, such as "2/4", "6/8" or "3+2/8".

        Raises:
            DrillError: the text is not a metre.
        """
        match = re.fullmatch(r"(\d{1,3}(?:\+\d{1,3})*)/(\d{1,3})", text.strip(), re.ASCII)
        if match is None:
            raise DrillError(f"{text!r} is not a metre: write it like 2/4, 6/8 or 3+2/8")
        groups = tuple(int(number) for number in match[1].split("+"))
        return cls(groups, int(match[2]), beat)

    def __str__(self) -> str:
        """Return the metre as written: "3+2/8"."""
        return f"{'+'.join(map(str, self.groups))}/{self.unit}"

    @property
    def length(self) -> Fraction:
        """Return the length of a whole bar in quarters."""
        return Fraction(4 * sum(self.groups), self.unit)

    @property
    def beats(self) -> tuple[Beat, ...]:
        """Return the counts of a whole bar, in order; they fill it exactly."""
        return _beats(self)

    @property
    def tempo_value(self) -> Fraction:
        """Return the length in quarters of the note value that a tempo counts.

        Where groups of different length get a count each, that is the metre's lower number,
        the one value that stays the same through the bar.
        """
        lengths = set(self.beat_lengths())
        return lengths.pop() if len(lengths) == 1 else Fraction(4, self.unit)

    def with_beat(self, beat: str | None) -> "Metre":
        """Return this metre counted in ``beat`` where that fits it, else in its ordinary way."""
        fits = beat == GROUP or (beat is not None and self.length % NOTE_VALUES[beat] == 0)
        return Metre(self.groups, self.unit, beat if fits else None)

    def beat_lengths(self) -> list[Fraction]:
        """Return how long each count of the bar is, in quarters."""
        if self.beat == GROUP:
            return [Fraction(4 * group, self.unit) for group in self.groups]
        upper = sum(self.groups)
        if self.beat is not None:
            value = NOTE_VALUES[self.beat]
        elif upper in COMPOUND_UPPERS and self.unit == COMPOUND_LOWER and len(self.groups) == 1:
            value = Fraction(3, 2)
        else:
            value = Fraction(4, self.unit)
        return [value] * int(self.length / value)


@cache
def _beats(metre: Metre) -> tuple[Beat, ...]:
    lengths = metre.beat_lengths()
    starts = accumulate(lengths, initial=Fraction(0))
    return tuple(Beat(start, length) for start, length in zip(starts, lengths, strict=False))


def value_name(length: Fraction, *, british: bool = False) -> str | None:
    """Return the name of the note value ``length`` quarters long ("dotted quarter"), or None."""
    for name, value in NOTE_VALUES.items():
        plain = name.removeprefix("dotted ")
        if value == length and (plain in BRITISH_NAMES.values()) == british:
            return name
    return None
