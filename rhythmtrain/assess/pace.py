"""The pace of a timeline: seconds for whole rows of written places at once, and back.

Beside a click a beat lasts as long as the next, and "one bar early" is a number of seconds.  Beside
an accompanist who breathes it is not: a phrase that came in a bar early was played to *that* bar's
beats.  So shifts are thought of in beats, and turned into seconds where they fall.  Between the
knots of the map time goes in a straight line: exactly so where the tempo is steady, and in steps of
a quarter of a quarter note where it changes gradually.
"""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.timing.tempomap import Stretch, TempoMap

Floats = NDArray[np.float64]

STEPS_A_QUARTER = 4
FAR_QUARTERS = 4_000


@dataclass(frozen=True, slots=True, eq=False)
class Pace:
    """Knots of the map, both rising: ``quarters`` and the ``seconds`` at which they fall."""

    quarters: Floats
    seconds: Floats

    def second(self, quarters: Floats) -> Floats:
        """Return when places fall, in seconds."""
        return np.asarray(np.interp(quarters, self.quarters, self.seconds))

    def quarter(self, seconds: Floats) -> Floats:
        """Return the places, in quarters, that fall at ``seconds``."""
        return np.asarray(np.interp(seconds, self.seconds, self.quarters))

    def faster(self, factor: float) -> "Pace":
        """Return this pace ``factor`` times as fast."""
        return Pace(self.quarters, self.seconds / factor)


def pace_of(tempo: TempoMap) -> Pace:
    """Return the pace of ``tempo``, which goes on as it begins and ends for a thousand bars."""
    first, last = tempo.stretches[0], tempo.stretches[-1]
    knots = [first.start - FAR_QUARTERS]
    for stretch in tempo.stretches:
        knots += _inside(stretch)
    knots += [last.stop, last.stop + FAR_QUARTERS]
    return Pace(
        np.array([float(knot) for knot in knots]),
        np.array([float(tempo.seconds(knot)) for knot in knots]),
    )


def _inside(stretch: Stretch) -> list[Fraction]:
    """Return the knots of a stretch without its end."""
    length = stretch.stop - stretch.start
    count = 1 if not stretch.slope else max(1, round(length * STEPS_A_QUARTER))
    return [stretch.start + length * step / count for step in range(count)]
