"""The units everything is told in, and the two conversions that must exist only once.

Written time is an exact ``Fraction`` of quarter notes from the start of bar 1.  Heard time is
``Seconds``; sound is ``Samples``.  This module alone divides sixty by a tempo and turns seconds
into samples; ``timing.tempomap`` alone turns quarters into seconds.  Rounding happens once, from
the absolute time, so nothing accumulates over an hour.
"""

import math
from fractions import Fraction
from typing import NewType

from rhythmtrain.errors import RequestError

Seconds = NewType("Seconds", float)
Samples = NewType("Samples", int)
Bpm = NewType("Bpm", float)
Quarters = Fraction

SLOWEST_BPM = 5.0
FASTEST_BPM = 1000.0


def beat_seconds(tempo: float) -> Seconds:
    """Return how long one beat lasts at ``tempo`` beats a minute; the tempo must be more than 0."""
    return Seconds(60.0 / checked_tempo(tempo))


def checked_tempo(tempo: float) -> Bpm:
    """Return ``tempo`` if a musician could mean it, else raise RequestError."""
    if not math.isfinite(tempo) or tempo <= 0:
        raise RequestError(f"tempo must be more than 0 beats a minute, got {tempo:g}")
    if not SLOWEST_BPM <= tempo <= FASTEST_BPM:
        raise RequestError(
            f"tempo must be {SLOWEST_BPM:g} to {FASTEST_BPM:g} beats a minute, got {tempo:g}"
        )
    return Bpm(float(tempo))


def samples_at(time: float, rate: int) -> Samples:
    """Return the sample nearest to ``time`` seconds at ``rate`` samples a second."""
    return Samples(round(time * rate))
