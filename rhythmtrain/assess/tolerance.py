"""How far off is off: the window that honest players set.

People who tap with a click scatter more the longer they wait for the next click, so one window
in milliseconds cannot be fair both to a quick passage and to a slow one.  With I the spacing of
what the player can hear or feel (a beat while a click, a count or an accompaniment sounds), in
milliseconds, the robust spread of a steady tapper around the median of the take is

    sigma(I) = max(20, 0.0199 I + 0.0000144 I^2)

and 95 or 99 of a hundred honest taps lie within the lines tabled below.  Measured on the open
data of Baath & Madison (2012): 30 people, 600 takes, the first three taps of each left out, see
tests/assess/test_tolerance.py.  There are no data below 600 ms: the lines stay as they are there,
which is generous.  Above 3000 ms they grow as sigma does.

Beside a recording the beat itself breathes, and is known less finely: professionals stay within
82 ms on the beat and within 15 % of a beat off it (95 %, measured on note-aligned performances
with their beats annotated), so nothing below that is told.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

INTERVALS_S = (0.6, 1.2, 1.8, 2.4, 3.0)
LINES_S: dict[int, tuple[float, ...]] = {
    95: (0.053, 0.100, 0.195, 0.286, 0.394),
    99: (0.074, 0.152, 0.263, 0.426, 0.564),
}
NARROWEST_S = 0.040
LEAST_SPREAD_S = 0.020
SPREAD_SHARE = 0.0199
SPREAD_GROWTH = 0.0144  # for each second of the interval
RECORDED_ON_BEAT_S = 0.082
RECORDED_OFF_BEAT = 0.15
TWO_SIDED = {95: 1.96, 99: 2.576}


def spread_s(interval_s: float | Sequence[float] | Floats) -> Floats:
    """Return the robust standard deviation of a steady tapper, in seconds, for each interval."""
    interval = np.asarray(interval_s, dtype=np.float64)
    return np.maximum(LEAST_SPREAD_S, SPREAD_SHARE * interval + SPREAD_GROWTH * interval**2)


def line_s(
    interval_s: float | Sequence[float] | Floats, percent: int = 95, *, uncertainty_s: float = 0.0
) -> Floats:
    """Return how far from the habit ``percent`` (95 or 99) of honest notes stay, in seconds.

    ``uncertainty_s`` is the standard error of the onset times themselves; it widens the line.
    """
    interval = np.asarray(interval_s, dtype=np.float64)
    line = np.interp(interval, INTERVALS_S, LINES_S[percent])
    growth = spread_s(interval) / spread_s(INTERVALS_S[-1])
    line = np.where(interval > INTERVALS_S[-1], LINES_S[percent][-1] * growth, line)
    return widened(np.maximum(line, NARROWEST_S), percent, uncertainty_s)


def widened(line: Floats, percent: int, uncertainty_s: float | Floats) -> Floats:
    """Return the line for times that are known only to a standard error of ``uncertainty_s``."""
    return np.asarray(np.hypot(line, TWO_SIDED[percent] * uncertainty_s), dtype=np.float64)


def recorded_line_s(beat_s: Floats, on_beat: NDArray[np.bool_]) -> Floats:
    """Return the distance below which nothing is told beside a recording, in seconds."""
    return np.where(on_beat, RECORDED_ON_BEAT_S, RECORDED_OFF_BEAT * beat_s)
