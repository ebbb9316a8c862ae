"""The bars of a score as a passage has them: metre, where each begins and ends, tempo and signs.

A passage tells its tempo and metre bar by bar, so a bar in which either changes is told in pieces of the
same number.  A bar shorter than its metre is an upbeat when it is the first, when it completes
the short bar before it (a bar that a repeat cuts in two), or when the file says that it is not a bar of
its own; else it ends early.  A bar longer than its metre, or without one, gets a metre of its length.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from rhythmtrain.score.metre import LARGEST_UPPER, Metre
from rhythmtrain.score.musicxml.document import Part, Score
from rhythmtrain.score.musicxml.metres import metre_holding
from rhythmtrain.score.musicxml.tempi import Tempi
from rhythmtrain.score.musicxml.ties import file_starts

LONGEST_PIECE = Fraction(LARGEST_UPPER)
WHOLE = Metre((4,), 4)


@dataclass(frozen=True, slots=True)
class Line:
    """One bar, or a piece of one: ``bar`` is its index in the file, ``start`` in quarters from there.

    ``speed`` is the quarters a minute in force; ``pause`` is whether the music waits before it;
    ``landmarks`` stand on the first piece.
    """

    bar: int
    number: int
    start: Fraction
    metre: Metre
    begins: Fraction
    ends: Fraction
    speed: Fraction = Fraction(120)
    pause: bool = False
    landmarks: tuple[str, ...] = ()

    @property
    def stop(self) -> Fraction:
        """Return where it ends, in quarters from the start of the file's first bar."""
        return self.start + self.ends - self.begins


def lines_of(score: Score, part: Part, tempi: Tempi) -> tuple[Line, ...]:
    """Return the bars of ``part`` in the order of the file, told in pieces where they must be."""
    lines: list[Line] = []
    for index, start in enumerate(file_starts(score.bars)[:-1]):
        whole = _bar_lines(score, part, (index, start), lines[-1] if lines else None)
        cut = [piece for line in whole for piece in _cut(line, tempi)]
        lines += _with_signs(cut, score, part, index)
    waits = [False, *(line.pause for line in lines)]
    return tuple(replace(line, pause=wait) for line, wait in zip(lines, waits, strict=False))


def _bar_lines(
    score: Score, part: Part, place: tuple[int, Fraction], before: Line | None
) -> Iterator[Line]:
    """Yield the bar at ``place`` (its index, and where it starts) in pieces of one metre each."""
    index, start = place
    shared = score.bars[index]
    metres = _metres(part, index)
    inside = [(at, metre) for at, metre in metres if at < shared.length] or metres[:1]
    stops = [*(at for at, _ in inside[1:]), shared.length]
    for (at, metre), stop in zip(inside, stops, strict=True):
        length = stop - at
        line = Line(index, shared.number, start + at, WHOLE, Fraction(0), WHOLE.length)
        if metre is None or length > metre.length:
            yield from _without_metre(line, length)
            continue
        begins = Fraction(0)
        if len(inside) == 1 and length < metre.length:
            begins = _upbeat(score, index, metre, length, before)
        yield replace(line, metre=metre, begins=begins, ends=begins + length)


def _metres(part: Part, index: int) -> list[tuple[Fraction, Metre | None]]:
    """Return the metres of a bar; a part that has ended keeps the last it had."""
    measure = part.measures[min(index, len(part.measures) - 1)]
    return measure.metres if index < len(part.measures) else [(Fraction(0), measure.metres[-1][1])]


def _upbeat(
    score: Score, index: int, metre: Metre, length: Fraction, before: Line | None
) -> Fraction:
    """Return where in its metre a short bar begins."""
    missing = metre.length - length
    if before is None:
        return missing if len(score.bars) > 1 or score.bars[index].implicit else Fraction(0)
    if before.metre == metre and before.ends == missing:
        return missing
    return missing if score.bars[index].implicit else Fraction(0)


def _without_metre(line: Line, length: Fraction) -> Iterator[Line]:
    """Yield pieces that any metre can hold, each with a metre of its own length."""
    at = Fraction(0)
    while at < length:
        piece = min(length - at, LONGEST_PIECE)
        yield replace(line, start=line.start + at, metre=metre_holding(piece), ends=piece)
        at += piece


def _cut(line: Line, tempi: Tempi) -> Iterator[Line]:
    """Yield ``line`` in pieces between which the tempo changes."""
    places = tempi.changes_within(line.start, line.stop)
    for start, stop in zip([line.start, *places], [*places, line.stop], strict=True):
        begins = line.begins + start - line.start
        yield replace(
            line, start=start, begins=begins, ends=begins + stop - start, speed=tempi.at(start)
        )


def _with_signs(pieces: Sequence[Line], score: Score, part: Part, index: int) -> Iterator[Line]:
    """Yield the pieces of a bar with its landmarks, and with ``pause`` where the music waits in it."""
    bar_start = pieces[0].start
    here = [each.measures[index].signs for each in score.parts if index < len(each.measures)]
    pauses = {bar_start + at for signs in here for at in signs.pauses}
    words = [letter for signs in here for letter in signs.letters]
    if index < len(part.measures):
        words += part.measures[index].signs.words
    for place, piece in enumerate(pieces):
        first, last = not place, place + 1 == len(pieces)
        yield replace(
            piece,
            pause=any((at >= piece.start or first) and (at < piece.stop or last) for at in pauses),
            landmarks=tuple(dict.fromkeys(words)) if first else (),
        )
