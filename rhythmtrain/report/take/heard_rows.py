"""The table of a take: every place that deserves a word, in the order of the passage."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.report.take.figure_told import figure_row
from rhythmtrain.report.take.flags import Flag
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import (
    bar_in_words,
    count_in_words,
    how_often,
    milliseconds,
    several,
)
from rhythmtrain.score.counts import place_of
from rhythmtrain.score.passage import Passage, numbered

SHAPES = {Verdict.EARLY: "◀", Verdict.LATE: "▶", Verdict.MISSED: "○", Verdict.IN_TIME: "·"}
EXTRA_SHAPE = "\N{MULTIPLICATION SIGN}"


@dataclass(frozen=True, slots=True)
class HeardRow:
    """One line: the bar, where in it, a shape as in the picture ("" for a figure), what it was."""

    bar: int
    place: str
    shape: str
    what: str


def heard_rows(heard: Heard) -> tuple[HeardRow, ...]:
    """Return the lines of the table, in the order of the passage."""
    found = [*_figures(heard), *_flags(heard), *_extras(heard)]
    return tuple(row for _, row in sorted(found, key=lambda pair: pair[0]))


def told(flag: Flag) -> str:
    """Return what was heard at one place: "early by 80 ms, twice in four"."""
    often = how_often(flag.which, flag.of)
    what = flag.verdict.value
    if flag.verdict is Verdict.MISSED:
        what = "not heard"
    elif flag.away_s is not None:
        what = f"{flag.verdict.value} by {milliseconds(flag.away_s)}"
    return f"{what}, {often}" if often else what


def extras_by_place(findings: Findings, passage: Passage) -> dict[tuple[int, str], int]:
    """Return how many notes too many were heard near each count of the passage.

    What was heard while bars were only counted belongs to no bar of the passage.
    """
    near = ((extra.bar, extra.count) for extra in findings.extras)
    return Counter(place for place in near if _inside(passage, place))


def _inside(passage: Passage, place: tuple[int, str]) -> bool:
    number, count = place
    return any(
        bar.begins <= place_of(bar.metre, count) < bar.ends
        for bar in passage.bars
        if bar.number == number
    )


Placed = tuple[tuple[int, Fraction, int], HeardRow]


def _figures(heard: Heard) -> Iterator[Placed]:
    for mistake in heard.findings.mistakes:
        what = figure_row(heard.findings, mistake)
        yield _placed(heard.passage, (mistake.bar, mistake.count), 0, ("", what))


def _flags(heard: Heard) -> Iterator[Placed]:
    for flag in heard.flags:
        yield _placed(heard.passage, (flag.bar, flag.count), 1, (SHAPES[flag.verdict], told(flag)))


def _extras(heard: Heard) -> Iterator[Placed]:
    for place, many in extras_by_place(heard.findings, heard.passage).items():
        what = f"{several(many, heard.playing.noun)} too many near it"
        yield _placed(heard.passage, place, 2, (EXTRA_SHAPE, what))


def _placed(passage: Passage, place: tuple[int, str], rank: int, said: tuple[str, str]) -> Placed:
    bar, count = place
    metre = passage.bars[numbered(passage, bar)].metre
    row = HeardRow(bar, f"{bar_in_words(bar)}, {count_in_words(passage, bar, count)}", *said)
    return (bar, place_of(metre, count), rank), row
