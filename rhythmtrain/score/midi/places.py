"""Whether the notes of a MIDI file stand where one writes notes, and where that is.

A file from a notation program has its notes on simple fractions of a quarter, to the tick; a file
that was played has them anywhere.  A note lies on the grid when it is within half a tick of a
fraction with one of ``DENOMINATORS``, the simplest of which is taken: so triplets rounded by a coarse
division become triplets again.  Between them these fractions cover about a tenth of all the ticks of
a fine division, so a row of played notes cannot pass for a written one.
"""

from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache

# Simplest first: sixty-fourths, triplets of them, and tuplets of 5, 7 and 9 to a quarter.
DENOMINATORS = (1, 2, 3, 4, 6, 8, 12, 5, 16, 7, 9)
NEAREST_DENOMINATORS = (8, 12)
COARSEST = Fraction(1, 96)
# So many notes may stand elsewhere (ornaments that were written out), common practice, no source.
FEWEST_SHARE = 0.95


def written_places(
    quarters: Iterable[Fraction], tick: Fraction
) -> tuple[tuple[Fraction, ...], int] | None:
    """Return where each note is written, and how many had to be moved; None for played notes.

    ``quarters`` are the notes' onsets as they stand in the file, ``tick`` how long its tick is.
    """
    onsets = tuple(quarters)
    places = [on_grid(onset, tick) for onset in onsets]
    off = sum(place is None for place in places)
    if off > (1 - FEWEST_SHARE) * len(places):
        return None
    return tuple(
        nearest(onset) if place is None else place
        for onset, place in zip(onsets, places, strict=True)
    ), off


def on_grid(quarter: Fraction, tick: Fraction) -> Fraction | None:
    """Return the simplest written place within half a tick of ``quarter``, or None."""
    whole = quarter // 1
    inside = _inside(quarter - whole, tick)
    return None if inside is None else whole + inside


def nearest(quarter: Fraction, parts: Iterable[int] = NEAREST_DENOMINATORS) -> Fraction:
    """Return the nearest thirty-second or triplet sixteenth to ``quarter``, or of other ``parts``."""
    places = (Fraction(round(quarter * each), each) for each in parts)
    return min(places, key=lambda place: abs(place - quarter))


@lru_cache(maxsize=65_536)
def _inside(quarter: Fraction, tick: Fraction) -> Fraction | None:
    reach = min(tick / 2, COARSEST)
    for denominator in DENOMINATORS:
        place = Fraction(round(quarter * denominator), denominator)
        if abs(place - quarter) <= reach:
            return place
    return None
