"""Taps on keys or pads as a take: placed by the clock model, less the sound delay.

A delay that was only claimed adds nothing to what is not known of single taps: it is common to all
of them.
"""

import numpy as np

from rhythmtrain.capture.take import Take
from rhythmtrain.capture.taps import TapPath, take_of_taps
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.sound_delay import Delay

XRUN_ERROR_S = 0.005


def taken(gathered: Gathered, source: str, delay: Delay, duration_s: float) -> Take:
    """Return the taps that were gathered as a take in track time; it may be empty."""
    stamp_error_s = gathered.stamp_error_s
    if gathered.xruns:
        stamp_error_s = float(np.hypot(stamp_error_s, XRUN_ERROR_S))
    error_s = delay.error_s if delay.known else 0.0
    path = TapPath(source, gathered.heard_from, stamp_error_s, delay.delay_s, error_s)
    return take_of_taps(gathered.touches, gathered.model, path, duration_s=duration_s)
