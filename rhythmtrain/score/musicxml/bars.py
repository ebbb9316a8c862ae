"""The bars that all parts of a score share.

A file writes every part on its own, and parts may disagree on how long a bar is: a pick-up bar with
a whole-bar rest in one part, a bar that somebody left short.  On its own timeline each such part would
fall out of step with the others for the rest of the piece.  So one length is taken for all: the one that
the metre says, if any sounding part fills it exactly, else that of the longest sounding part; in a
bar of rests the one that the metre says, unless the bar is said to be irregular.  Whole-bar rests
stretch or shrink with it.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest

from rhythmtrain.score.musicxml.measure import Measure

MOST_MISFITS_TOLD = 3
FOUR_QUARTERS = Fraction(4)


@dataclass(frozen=True, slots=True)
class SharedBar:
    """One bar of the whole score: its number as printed, and its length in quarters.

    ``implicit`` is whether the file says that it is not counted as a bar of its own.
    """

    number: int
    length: Fraction
    implicit: bool


@dataclass(frozen=True, slots=True)
class Misfit:
    """A part whose notes fill another length than the bar that they stand in."""

    bar: int
    part: int
    filled: Fraction
    length: Fraction


def share_bars(
    parts: Sequence[Sequence[Measure]],
) -> tuple[tuple[SharedBar, ...], tuple[Misfit, ...]]:
    """Return the bars of a score, given every part's, and the parts that do not fit them."""
    bars: list[SharedBar] = []
    misfits: list[Misfit] = []
    for column in zip_longest(*parts):
        here = [measure for measure in column if measure is not None]
        length = _length(here)
        number = _number(here[0].printed, bars)
        bars.append(SharedBar(number, length, any(measure.implicit for measure in here)))
        misfits += [
            Misfit(number, part, measure.filled, length)
            for part, measure in enumerate(column)
            if measure is not None and measure.sounds and measure.filled != length
        ]
    return tuple(bars), tuple(misfits)


def _length(here: list[Measure]) -> Fraction:
    sounding = [measure for measure in here if measure.sounds]
    if any(measure.filled == measure.nominal for measure in sounding):
        return max(each.filled for each in sounding if each.filled == each.nominal)
    longest = max((measure.filled for measure in sounding or here), default=Fraction(0))
    nominal = max((each.nominal for each in here if each.nominal is not None), default=None)
    if sounding and longest:
        return longest
    if longest and (nominal is None or any(measure.implicit for measure in here)):
        return longest
    return nominal or FOUR_QUARTERS


def _number(printed: str, before: list[SharedBar]) -> int:
    """Return a bar's number: as printed, else that of the bar before, of which it is a piece."""
    digits = printed.strip()
    if digits.isascii() and digits.isdigit() and len(digits) <= 5:  # noqa: PLR2004
        return int(digits)
    return before[-1].number if before else 0


def in_words(misfits: Sequence[Misfit], names: Sequence[str]) -> Iterator[str]:
    """Yield a sentence for each of the first few misfits, and one for all the others."""
    for misfit in misfits[:MOST_MISFITS_TOLD]:
        yield (
            f"bar {misfit.bar}: {names[misfit.part]} has {in_quarters(misfit.filled)} where the bar "
            f"has {in_quarters(misfit.length)}; the parts are kept in step"
        )
    left = len(misfits) - MOST_MISFITS_TOLD
    if left > 0:
        yield f"{left} more bar{'s' * (left != 1)} do not fit their part either"


def in_quarters(length: Fraction) -> str:
    """Return a length as one says it: "3 1/2 quarters"."""
    whole, rest = divmod(length, 1)
    words = f"{whole} {rest}" if whole and rest else str(rest or whole)
    return f"{words} quarter{'' if 0 < length <= 1 else 's'}"
