"""Where a passage is hard, and why, in words a player reads.

A bar is a hard spot when at least one of these named causes is found in it; a bar of notes on
the beats has none.

* *off-beat start*: a note begins off the beat after silence on that beat.
* *tie over the beat*: a note begins off the beat and sounds through the next beat.
* *tie over the bar line*: a note sounds through the bar line, unless it fills whole bars.
* *held inside the beat*: a note begins on a weak part of a beat and sounds through a stronger one.
* *three over two beats*: three even notes fill two beats that divide in two.
* *change of subdivision*: a beat is divided so that neither its parts nor the parts before fit
  into the other: sixteenths and triplets, eighths and duplets.
* *fast notes*: three notes in a row closer than 200 ms at the written tempo.  Below 200 to 250 ms
  subdividing no longer steadies the beat but harms it (Repp 2003).
* *unequal groups*: 5/8, 7/8, 3+2.
* *change of beat*: the note value that gets one count changes.

The score orders bars: the syncopation of ``rhythmtrain.score.difficulty.bar_pulses`` plus one for each cause.
It is not a grade and never shown to a player as a number.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import TYPE_CHECKING

from rhythmtrain.score.difficulty.bar_pulses import syncopation
from rhythmtrain.score.difficulty.hard_notes import NoteTrouble, Trouble, Written, troubles, written
from rhythmtrain.score.difficulty.subdivision import Division, divisions_of
from rhythmtrain.score.metre import Metre, value_name
from rhythmtrain.score.passage import Bar, Passage
from rhythmtrain.score.tempo import beats_a_minute, speeds

if TYPE_CHECKING:
    from fractions import Fraction

FAST_S = 0.2
ODD_UNITS = (8, 16, 32)


class Cause(StrEnum):
    """Why a bar is hard."""

    OFF_BEAT = "off-beat start"
    OVER_BEAT = "tie over the beat"
    OVER_BAR = "tie over the bar line"
    INSIDE_BEAT = "held inside the beat"
    ACROSS = "three over two beats"
    SUBDIVISION = "change of subdivision"
    FAST = "fast notes"
    UNEQUAL = "unequal groups"
    BEAT = "change of beat"


@dataclass(frozen=True, slots=True)
class HardSpot:
    """A hard bar: its printed number, a score for putting bars in order, and why, in words."""

    bar: int
    score: float
    why: tuple[str, ...]
    causes: tuple[Cause, ...]


@dataclass(frozen=True, slots=True)
class _Reason:
    index: int
    cause: tuple[Cause, ...]
    words: str


def hard_spots(passage: Passage, *, british: bool = False) -> tuple[HardSpot, ...]:
    """Return the hard bars of ``passage`` as written, in order, with note values in either usage."""
    row = written(passage.bars)
    reasons: dict[int, list[_Reason]] = defaultdict(list)
    for found in (
        _from_notes(row),
        _from_subdivision(row, british=british),
        _from_speed(passage, row, british=british),
        _from_metre(row, british=british),
    ):
        for reason in found:
            reasons[reason.index].append(reason)
    return tuple(_spot(row, index, reasons[index]) for index in sorted(reasons))


def _spot(row: Written, index: int, reasons: list[_Reason]) -> HardSpot:
    causes = {cause for reason in reasons for cause in reason.cause}
    bar, nominal = row.bars[index], row.nominal(index)
    first = bisect_left(row.onsets, row.starts[index])
    last = bisect_left(row.onsets, row.starts[index] + bar.length)
    own = tuple(at - nominal for at in row.onsets[first:last])
    later = [at - nominal for at in row.onsets[last : last + 1]]
    score = syncopation(bar.metre, own, *later) + len(causes)
    words = tuple(reason.words for reason in reasons)
    return HardSpot(bar.number, score, words, tuple(cause for cause in Cause if cause in causes))


_TROUBLE_CAUSES: dict[Trouble, Cause] = {
    Trouble.OFF_BEAT: Cause.OFF_BEAT,
    Trouble.OVER_BEAT: Cause.OVER_BEAT,
    Trouble.OVER_BAR: Cause.OVER_BAR,
    Trouble.INSIDE_BEAT: Cause.INSIDE_BEAT,
    Trouble.ACROSS: Cause.ACROSS,
}


def _from_notes(row: Written) -> Iterator[_Reason]:
    """Yield what is hard about single notes; notes of a bar with one trouble share a sentence."""
    alike: dict[tuple[int, tuple[Trouble, ...]], list[NoteTrouble]] = defaultdict(list)
    for trouble in troubles(row):
        alike[trouble.index, trouble.kinds].append(trouble)
    for (index, kinds), same in alike.items():
        again = ""
        if len(same) == 2:  # noqa: PLR2004
            again = f", and again on {same[1].spoken}"
        elif len(same) > 1:
            again = f", and {len(same) - 1} more times"
        causes = tuple(_TROUBLE_CAUSES[kind] for kind in kinds)
        yield _Reason(index, causes, same[0].words + again)


def _from_subdivision(row: Written, *, british: bool) -> Iterator[_Reason]:
    before: Division | None = None
    for division in divisions_of(row):
        near = before is not None and division.index - before.index <= 1
        if before is not None and near and not division.fits(before):
            words = (
                f"changes from {before.name(british=british)} to "
                f"{division.name(british=british)} on beat {division.beat + 1}"
            )
            yield _Reason(division.index, (Cause.SUBDIVISION,), words)
        before = division


def _from_speed(passage: Passage, row: Written, *, british: bool) -> Iterator[_Reason]:
    """Yield the bars where three notes in a row come closer than ``FAST_S``, once each."""
    pace = speeds(passage)
    gaps = [
        (note, after.at - note.at, float(after.at - note.at) * 60 / max(pace[note.index]))
        for note, after in pairwise(row.notes)
    ]
    fastest: dict[int, Fraction] = {}
    for (note, gap, gap_s), (_, next_gap, next_s) in pairwise(gaps):
        if gap_s < FAST_S and next_s < FAST_S:
            fastest[note.index] = min(fastest.get(note.index, gap), gap, next_gap)
    for index, gap in fastest.items():
        metre = row.bars[index].metre
        value = value_name(gap, british=british)
        beat = value_name(metre.tempo_value, british=british) or "beat"
        tempo = f"{beat} = {beats_a_minute(pace[index][0], metre):.4g}"
        notes = f"fast {value}s" if value else "fast notes"
        yield _Reason(index, (Cause.FAST,), f"{notes} at {tempo}")


def _from_metre(row: Written, *, british: bool) -> Iterator[_Reason]:
    played = {note.index for note in row.notes}
    before: Bar | None = None
    for index, bar in enumerate(row.bars):
        old = before.metre.tempo_value if before else bar.metre.tempo_value
        new, before = bar.metre.tempo_value, bar
        if index in played and old != new:
            names = [value_name(value, british=british) or f"{value}" for value in (old, new)]
            words = f"the beat changes from {names[0]} to {names[1]}"
            yield _Reason(index, (Cause.BEAT,), words)
        if index in played and unequal(bar.metre):
            yield _Reason(index, (Cause.UNEQUAL,), f"unequal groups: {bar.metre}")


def unequal(metre: Metre) -> bool:
    """Return True for a bar felt in groups of two and three: 5/8, 7/8, 3+2/8 (5/4 has equal beats)."""
    upper = sum(metre.groups)
    odd = metre.unit in ODD_UNITS and upper > 3 and upper % 2 != 0 and upper % 3 != 0  # noqa: PLR2004
    return len(set(metre.groups)) > 1 or (len(metre.groups) == 1 and odd)
