"""Where the notes of a MIDI file that was played are written: an honest rule, and its refusal.

Someone who records to a click plays around it: always a little late or early (taken out first: the
circular mean of the notes' places within a sixteenth), and with some spread.  Each quarter is then
read in sixteenths or, where that fits much better, in triplets.  Notes that follow no click lie anywhere between;
what is left over after rounding tells, and then there is nothing to round to.
"""

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from math import atan2, cos, pi, sin, sqrt

SIXTEENTH, TRIPLET = Fraction(1, 4), Fraction(1, 3)
# Triplets are read where they leave less than this share of what sixteenths leave.
TRIPLET_SHARE = 0.4
# Left over, in quarters (root mean square): places at random leave 0.072 and hardly less than 0.06;
# a spread of 25 ms at quarter = 90 leaves 0.037.
MOST_LEFT_OVER = 0.052


def played_places(quarters: Sequence[Fraction]) -> tuple[Fraction, ...] | None:
    """Return where each of the played ``quarters`` is written; None where no click was followed."""
    onsets = [float(each) for each in quarters]
    lag = _lag(onsets)
    beats: dict[int, list[int]] = defaultdict(list)
    for index, onset in enumerate(onsets):
        beats[int((onset - lag + SIXTEENTH / 2) // 1)].append(index)
    places: dict[int, Fraction] = {}
    left = 0.0
    for inside in beats.values():
        fine, three = (
            [_rounded(onsets[i] - lag, grid) for i in inside] for grid in (SIXTEENTH, TRIPLET)
        )
        fine_left, three_left = (
            sum((onsets[i] - lag - float(place)) ** 2 for i, place in zip(inside, row, strict=True))
            for row in (fine, three)
        )
        triplets = three_left < TRIPLET_SHARE * fine_left
        left += three_left if triplets else fine_left
        places |= dict(zip(inside, three if triplets else fine, strict=True))
    if sqrt(left / len(onsets)) > MOST_LEFT_OVER:
        return None
    return tuple(max(places[index], Fraction(0)) for index in range(len(onsets)))


def _lag(onsets: Sequence[float]) -> float:
    """Return how late the notes are in the mean, in quarters: between half a sixteenth early and late."""
    turns = [2 * pi * onset / float(SIXTEENTH) for onset in onsets]
    return atan2(sum(map(sin, turns)), sum(map(cos, turns))) / (2 * pi) * float(SIXTEENTH)


def _rounded(onset: float, grid: Fraction) -> Fraction:
    return round(onset / float(grid)) * grid
