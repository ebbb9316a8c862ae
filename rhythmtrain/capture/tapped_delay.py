"""The sound delay as tapped: how late taps come that are meant to meet a click.

What is found is the way of the sound to the ear, and of the key to the computer, *and* the
player's own habit of tapping a little before or after a click; the three cannot be told apart from
taps.  So it suits the same player on the same machine.

The first taps after the count-in find the beat and are left out.  The median of the rest is the
delay; its standard error is 1.2533 robust standard deviations over the root of their number (the
median of a bell), and the error told is 1.96 of those.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rhythmtrain.errors import TakeError

LEFT_OUT = 4
FEWEST = 8
MOST_UNEVEN_S = 0.060
ROBUST = 1.4826
OF_MEDIAN = 1.2533
TO_95 = 1.96
EARLIEST_SHARE = 0.35


@dataclass(frozen=True, slots=True)
class TappedDelay:
    """The delay, how well it is known (95 %), how uneven single taps were, and how many counted."""

    delay_s: float
    error_s: float
    uneven_s: float
    taps: int


def tapped_delay(clicks_s: Sequence[float], taps_s: Sequence[float]) -> TappedDelay:
    """Return how late ``taps_s`` come after ``clicks_s``, an even row in track time.

    A tap belongs to the last click before it, or to the next one where it comes shortly before it.

    Raises:
        TakeError: too few taps, or too uneven to tell.
    """
    clicks, taps = np.asarray(clicks_s), np.sort(np.asarray(taps_s))
    period = float(np.median(np.diff(clicks)))
    late = np.array([tap - clicks[_click_of(clicks, tap, period)] for tap in taps])
    used = late[(taps >= clicks[LEFT_OUT] - EARLIEST_SHARE * period)]
    if len(used) < FEWEST:
        raise TakeError(
            f"only {len(used)} taps were heard, {FEWEST} are needed: tap with every click until "
            "the end"
        )
    delay_s = float(np.median(used))
    uneven_s = ROBUST * float(np.median(np.abs(used - delay_s)))
    if uneven_s > MOST_UNEVEN_S:
        raise TakeError(
            f"the taps were too uneven to tell the sound delay ({uneven_s * 1000:.0f} ms, at most "
            f"{MOST_UNEVEN_S * 1000:.0f}): try again, one tap with every click"
        )
    error_s = TO_95 * OF_MEDIAN * uneven_s / len(used) ** 0.5
    return TappedDelay(delay_s, error_s, uneven_s, len(used))


def _click_of(
    clicks: "np.ndarray[tuple[int], np.dtype[np.float64]]", tap: float, period: float
) -> int:
    """Return which click a tap was meant for."""
    after = int(np.searchsorted(clicks, tap + EARLIEST_SHARE * period)) - 1
    return min(max(after, 0), len(clicks) - 1)
