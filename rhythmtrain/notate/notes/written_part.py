"""The accompanist's part as notes and bars in the order they are played, whatever file it came from.

A reader of any kind of score fills this in: places are quarters from the first note's bar line on,
repeats written out.  Bars keep their printed numbers; where they are not played in a row (a repeat,
a cut) the beat map numbers them on as they are played.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.notes.written_chroma import WrittenNotes
from rhythmtrain.remedies import option
from rhythmtrain.score.metre import Metre

# A note that nobody ended sounds no longer than a piano does.
LONGEST_QUARTERS = Fraction(16)
SHORTEST_QUARTERS = Fraction(1, 16)

Runs = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """A note: where it begins and how long it is, in quarters, its MIDI pitch, its staff from above."""

    at: Fraction
    length: Fraction
    pitch: int
    staff: int = 1


@dataclass(frozen=True, slots=True)
class WrittenBar:
    """A bar: its printed number, where it starts in quarters, its metre, its first count's place.

    ``begins`` is more than 0 in an upbeat; ``length`` is how long it is as written.
    """

    number: int
    start: Fraction
    metre: Metre
    length: Fraction
    begins: Fraction = Fraction(0)

    def completes(self, before: "WrittenBar") -> bool:
        """Return whether this is the rest of the bar ``before``, which a repeat cut in two."""
        return bool(self.begins) and self.begins == before.begins + before.length


@dataclass(frozen=True, slots=True)
class WrittenBeat:
    """One beat: where it falls in quarters, its bar (as printed or as played) and its number."""

    at: Fraction
    bar: int
    beat: int


@dataclass(frozen=True, slots=True)
class WrittenPart:
    """Notes and bars in the order in which they are played.

    Raises:
        RequestError: no bars, or bars that do not follow one another.
    """

    notes: tuple[WrittenNote, ...]
    bars: tuple[WrittenBar, ...]

    def __post_init__(self) -> None:
        """Check that the bars touch each other."""
        if not self.bars:
            raise RequestError("the notes have no bars")
        for early, late in pairwise(self.bars):
            if late.start != early.start + early.length:
                raise RequestError(
                    f"bar {late.number} of the notes does not follow on bar {early.number}"
                )

    @property
    def printed(self) -> bool:
        """Return whether the bars are played in a row, each once, so that printed numbers serve."""
        return all(
            late.number == early.number + (not late.completes(early))
            for early, late in pairwise(self.bars)
        )

    def sounding(self) -> WrittenNotes:
        """Return the notes as the alignment takes them.

        Raises:
            RequestError: too few to recognise.
        """
        lengths = (min(max(n.length, SHORTEST_QUARTERS), LONGEST_QUARTERS) for n in self.notes)
        return WrittenNotes(
            np.array([float(note.at) for note in self.notes]),
            np.array([float(note.pitch) for note in self.notes]),
            np.array([float(length) for length in lengths]),
        )

    def beats(self) -> Iterator[WrittenBeat]:
        """Yield every beat; bars are numbered on from the first where they are not in a row."""
        printed, number = self.printed, self.bars[0].number
        for early, bar in zip((None, *self.bars), self.bars, strict=False):
            if early is not None:
                number = bar.number if printed else number + (not bar.completes(early))
            for beat, each in enumerate(bar.metre.beats, start=1):
                if bar.begins <= each.start < bar.begins + bar.length:
                    yield WrittenBeat(bar.start + each.start - bar.begins, number, beat)

    def counted_in(self, beat: str) -> "WrittenPart":
        """Return the part with ``beat`` ("eighth", "dotted quarter" …) as what gets a count."""
        bars = (replace(bar, metre=replace(bar.metre, beat=beat)) for bar in self.bars)
        return replace(self, bars=tuple(bars))

    def played(self, runs: Runs) -> "WrittenPart":
        """Return the part with its bars in another order: ``runs`` are (first, last) places in it."""
        starts = [bar.start for bar in self.bars]
        inside: list[list[WrittenNote]] = [[] for _ in self.bars]
        for note in self.notes:
            inside[max(bisect_right(starts, note.at) - 1, 0)].append(note)
        notes: list[WrittenNote] = []
        bars: list[WrittenBar] = []
        at = Fraction(0)
        for first, last in runs:
            for index in range(first, last + 1):
                bar = self.bars[index]
                moved = at - bar.start
                notes += [replace(note, at=note.at + moved) for note in inside[index]]
                bars.append(replace(bar, start=at))
                at += bar.length
        return WrittenPart(tuple(notes), tuple(bars))

    def only(self, first: int, last: int) -> "WrittenPart":
        """Return the printed bars ``first`` to ``last``, where they first come.

        Raises:
            RequestError: there are no such bars.
        """
        numbers = [bar.number for bar in self.bars]
        if first not in numbers or last not in numbers or last < first:
            have = f"{min(numbers)}-{max(numbers)}"
            raise RequestError(f"the notes have bars {have}, not {first}-{last}")
        start = numbers.index(first)
        stop = numbers.index(last, start) if last in numbers[start:] else numbers.index(last)
        return self.played(((start, stop),))


def named_runs(part: WrittenPart, text: str) -> Runs:
    """Return the places in ``part`` of bars written "1-8,1-8,9-24", as printed.

    Raises:
        RequestError: bars that do not exist.
    """
    numbers = [bar.number for bar in part.bars]
    runs = []
    for word in text.split(","):
        first, dash, last = word.strip().partition("-")
        ends = [first, last if dash else first]
        if not all(each.isascii() and each.isdigit() and int(each) in numbers for each in ends):
            raise RequestError(
                f"{option('order', text[:60])} does not read: write bars of the notes as they are played, "
                f"such as 1-8,1-8,9-{max(numbers)}"
            )
        start = numbers.index(int(ends[0]))
        if int(ends[1]) not in numbers[start:]:
            raise RequestError(f"{option('order', text[:60])}: {word.strip()} runs backwards")
        runs.append((start, numbers.index(int(ends[1]), start)))
    return tuple(runs)


def runs_in_words(part: WrittenPart, runs: Sequence[tuple[int, int]]) -> str:
    """Return ``runs`` as printed bars: "1-8,1-8,9-24"."""
    numbers = [bar.number for bar in part.bars]
    ends = ((numbers[first], numbers[last]) for first, last in runs)
    return ",".join(str(first) if first == last else f"{first}-{last}" for first, last in ends)
