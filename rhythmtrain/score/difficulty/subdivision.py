"""How each beat is divided by what happens in it: eighths, sixteenths, triplets, duplets.

Only where notes begin or end counts; a place that is merely counted divides nothing.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from rhythmtrain.score.counts import beat_at
from rhythmtrain.score.difficulty.hard_notes import Written
from rhythmtrain.score.metre import Beat, value_name

TUPLETS: dict[int, str] = {
    2: "duplets",
    3: "triplets",
    4: "quadruplets",
    5: "quintuplets",
    6: "sextuplets",
    7: "septuplets",
}


@dataclass(frozen=True, slots=True)
class Division:
    """One divided beat: its bar's index, its index in the bar, and into how many parts."""

    index: int
    beat: int
    length: Fraction
    parts: int

    @property
    def part(self) -> Fraction:
        """Return the length of one part in quarters."""
        return self.length / self.parts

    def fits(self, other: "Division") -> bool:
        """Return True when the parts of one are whole multiples of the parts of the other."""
        ratio = self.part / other.part
        return 1 in {ratio.numerator, ratio.denominator}

    def name(self, *, british: bool = False) -> str:
        """Return what a musician calls the parts: "sixteenths", "triplets"."""
        whole = Beat(Fraction(0), self.length)
        even = self.parts // 3 if whole.compound and self.parts % 3 == 0 else self.parts
        plain = even & (even - 1) == 0 and (even != self.parts or whole.simple)
        value = value_name(self.part, british=british) if plain else None
        if value is not None:
            return f"{value}s"
        return TUPLETS.get(self.parts, f"{self.parts} to the beat")


def divisions_of(row: Written) -> Iterator[Division]:
    """Yield the beats of ``row`` that are divided, in order."""
    parts: dict[tuple[int, int], int] = defaultdict(lambda: 1)
    for index, place in _events(row):
        metre = row.bars[index].metre
        number = beat_at(metre, place)
        beat = metre.beats[number]
        share = (place - beat.start) / beat.length
        parts[index, number] = lcm(parts[index, number], share.denominator)
    for (index, number), count in sorted(parts.items()):
        if count > 1:
            yield Division(index, number, row.bars[index].metre.beats[number].length, count)


def _events(row: Written) -> Iterator[tuple[int, Fraction]]:
    """Yield (bar index, quarters after its beat 1) of every beginning and end of a note."""
    for note in row.notes:
        yield note.index, note.at - row.nominal(note.index)
        end, index = note.at + note.length, note.index
        while index + 1 < len(row.bars) and end >= row.starts[index + 1]:
            index += 1
        if end < row.starts[index] + row.bars[index].length:
            yield index, end - row.nominal(index)
