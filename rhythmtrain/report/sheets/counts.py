"""The counts that stand under a bar on paper: one under every note, every rest, every counted place.

Played counts stand bare, silent ones in round brackets, held ones in square brackets, as in the
count line.  Where a counting system has no syllable for a place (Kodály's says nothing on rests)
the number stands there.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from rhythmtrain.report.passage.bar_columns import BRACKETS
from rhythmtrain.score.counting import NUMBERS, say
from rhythmtrain.score.counts import beat_at, count_name
from rhythmtrain.score.notation.notation import NotatedBar, notated
from rhythmtrain.score.passage import Bar, Kind, Place

# In the drawing's units: the size of the counts, the blank between two, and the room that clef and
# metre may take; letters as shares of that size, in a Times-like font.
SIZE, BLANK, HEAD = 40.5, 22.0, 200.0
LETTERS = {"&": 0.78, "+": 0.57, "/": 0.28, "m": 0.78} | dict.fromkeys("()[]lti", 0.33)
OTHER_LETTERS = 0.5


@dataclass(frozen=True, slots=True)
class PrintedCount:
    """A count as it is printed, ``at`` quarters into the bar."""

    at: Fraction
    text: str
    kind: Kind


def printed_counts(bar: NotatedBar, system: str = NUMBERS) -> tuple[PrintedCount, ...]:
    """Return what stands under ``bar``, in order; ``system`` is one of ``counting.SYSTEMS``."""
    kinds = _kinds(bar)
    lengths = _lengths(bar)
    counts = []
    for at in sorted(kinds):
        opening, closing = BRACKETS[kinds[at]]
        syllable = say(bar.bar.metre, at, system, length=lengths.get(at))
        text = syllable or _plainly(bar.bar, at)
        counts.append(PrintedCount(at, f"{opening}{text}{closing}", kinds[at]))
    return tuple(counts)


def line_for(bars: Iterable[tuple[PrintedCount, ...]]) -> float:
    """Return how long a line must be, in the drawing's units, on which each bar has its counts apart."""
    return HEAD + max((sum(_width(count.text) + BLANK for count in bar) for bar in bars), default=0)


def _width(text: str) -> float:
    return SIZE * sum(LETTERS.get(letter, OTHER_LETTERS) for letter in text)


def as_notes(bar: NotatedBar, counts: tuple[PrintedCount, ...]) -> NotatedBar:
    """Return a bar in which a note begins at each of the ``counts``: what their spacing needs."""
    places = tuple(Place(count.at, Kind.PLAYED) for count in counts)
    if not places or places[0].at != bar.bar.begins:
        places = (Place(bar.bar.begins, Kind.PLAYED), *places)
    (spaced,) = notated((replace(bar.bar, places=places),))
    return spaced


def _kinds(bar: NotatedBar) -> dict[Fraction, Kind]:
    metre = bar.bar.metre
    kinds = {sign.at: Kind.SILENT if sign.rest else Kind.HELD for sign in bar.signs}
    kinds |= {sign.at: Kind.PLAYED for sign in bar.signs if sign.begins}
    beats = [beat.start for beat in metre.beats if bar.bar.begins <= beat.start < bar.bar.ends]
    counted = {place.at: place.kind for place in bar.bar.places}
    silent = dict.fromkeys(() if bar.signs else beats, Kind.SILENT)
    return silent | counted | kinds


def _lengths(bar: NotatedBar) -> dict[Fraction, Fraction]:
    """Return how long each note lasts that begins in the bar, as far as the bar shows it."""
    lengths: dict[Fraction, Fraction] = {}
    begun = None
    for sign in bar.signs:
        begun = sign.at if sign.begins else None if sign.rest else begun
        if begun is not None:
            lengths[begun] = lengths.get(begun, Fraction(0)) + sign.length
    return lengths


def _plainly(bar: Bar, at: Fraction) -> str:
    """Return a place by its number: "2", or "+1/5" inside a beat."""
    name = count_name(bar.metre, at)
    number = str(beat_at(bar.metre, at) + 1)
    return name.removeprefix(number) or number
