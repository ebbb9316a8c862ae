"""From a browser's event clock to track time.

A page reads now and then, in one moment, which second of its audio context is at the loudspeaker
and what the page's own clock shows (Web Audio API, W3C Recommendation 2021, ``getOutputTimestamp``).
Single readings scatter by milliseconds, to both sides, so the line through them is laid by
medians; its slope, the quartz of the sound card against the computer's, is drawn to nominal as
strongly as the scatter asks.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.capture.clock import QUARTZ, TO_SD, ClockModel, Piece
from rhythmtrain.errors import TakeError

LEAST_SPAN_S = 5.0
LEAST_ERROR_S = 0.001
HALVES = 3

Numbers = NDArray[np.float64]


def browser_clock(
    readings: Sequence[tuple[float, float]], *, start_s: float, rate: int
) -> ClockModel:
    """Return the model that turns seconds of the page's clock into track time.

    ``readings`` are (second of the audio context, second of the page's clock) in order of time;
    the track's first sample was given to the context for second ``start_s``.

    Raises:
        TakeError: no reading of a running context, or the context ran backwards.
    """
    running = [(context, page) for context, page in readings if context > 0 and page > 0]
    if not running:
        raise TakeError(
            "the browser did not tell when its sound was heard: reload the page and try again"
        )
    if any(after[1] < before[1] for before, after in pairwise(running)):
        raise TakeError("the browser's clock ran backwards: reload the page and try again")
    context, page = np.array(running, dtype=np.float64).T
    ahead = page - context
    slope = _slope(context, ahead)
    level = float(np.median(ahead - slope * context))
    scatter = TO_SD * float(np.median(np.abs(ahead - slope * context - level)))
    error_s = max(LEAST_ERROR_S, 2 * scatter / max(len(running), 1) ** 0.5)
    frame_s = (1.0 + slope) / rate
    zero_s = level + (1.0 + slope) * start_s
    return ClockModel(rate, frame_s, (Piece(0, zero_s),), error_s)


def _slope(context: Numbers, ahead: Numbers) -> float:
    """Return by how much the page's clock runs ahead in a second of the context."""
    span = float(context[-1] - context[0])
    third = len(context) // HALVES
    if span < LEAST_SPAN_S or third < 1:
        return 0.0
    early, late = np.median(ahead[:third]), np.median(ahead[-third:])
    apart = float(np.median(context[-third:]) - np.median(context[:third]))
    rest = ahead - np.median(ahead)
    scatter = TO_SD * float(np.median(np.abs(rest))) * (2 / third) ** 0.5 + 1e-6
    found = float(late - early) / apart
    return float(found * QUARTZ**2 / (QUARTZ**2 + (scatter / apart) ** 2))
