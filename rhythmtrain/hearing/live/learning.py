"""Learning the way from loudspeaker to microphone while it is used, from what was heard just now.

Another track in the same room needs only little of a way mended: devices that are opened again are
some milliseconds earlier or later, the volume was turned, somebody moved.  So from the last seconds
that were heard the delay is found anew along the prediction (cross-correlation, then Gauss-Newton
steps against its slope), the volume as one factor, and the response by the weighted least squares
of ``room``, held to the one before: the more, the more noise there is beside the bleed.

Without a way to begin with, or where one misleads, it is all found from the last seconds alone.
"""

from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.hearing.bleed.bleed import QUIET
from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.bleed.delay import measured_delay
from rhythmtrain.hearing.bleed.room import RESPONSE_S, Inputs, response, trust, usual_power
from rhythmtrain.hearing.bleed.skew import drift_left
from rhythmtrain.hearing.live.way import Way, Window, likest, softer_db

LEAST_SOFTER_DB, LOST_DB = 6.0, 3.0
REACH_S = 0.03
FROM_NOTHING_S, FIRST_PASSES, FIRST_STEPS = 4.0, 3, 10
PASSES = 2
STEPS = 4
CHANGE = 0.03
STEADY_S = 4.0
SILENT_RMS = 1e-4


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """A way as it is now, and by how many dB it makes the loudspeaker softer."""

    way: Way
    softer_db: float

    @property
    def useful(self) -> bool:
        """Return whether it is worth taking out what it predicts."""
        return self.softer_db >= LEAST_SOFTER_DB


def learned(window: Window, before: Learned | None) -> Learned | None:
    """Return the way as ``window`` has it, beginning with that known ``before``.

    None where nothing can be said: the track was silent, is not heard, or comes round too evenly.
    """
    if np.sqrt(np.mean(np.square(window.track))) < SILENT_RMS:
        return before
    if before is None:
        return _from_nothing(window)
    way = before.way
    inputs = window.inputs(way)
    bleed = window.bleed(way, inputs)
    if softer_db(window.heard, bleed, window.rate) < LOST_DB:
        way = _found_again(window, way, bleed)
        inputs = window.inputs(way)
        bleed = window.bleed(way, inputs)
    for _ in range(PASSES):
        way = _mended(window, way, bleed)
        inputs = window.inputs(way)
        bleed = window.bleed(way, inputs)
    way = replace(way, rooms=_solved(window, way, inputs, bleed))
    bleed = window.bleed(way, inputs)
    found = Learned(way, softer_db(window.heard, bleed, window.rate))
    afresh = None if found.useful else _from_nothing(window)
    return afresh if afresh and afresh.softer_db > found.softer_db else found


def _from_nothing(window: Window) -> Learned | None:
    """Return the way from the first seconds alone."""
    rate = window.rate
    if len(window.heard) < FROM_NOTHING_S * rate:
        return None
    track = window.track[window.first - window.track_first :]
    delay = measured_delay(window.heard, track, rate)
    if delay.refused:
        return None
    grown_s = 1e-6 * delay.skew_ppm * window.first / rate
    highest = max(float(np.abs(track).max()), SILENT_RMS)
    taps = round(RESPONSE_S * rate)
    silent = np.zeros((2, taps), np.float32)
    way = Way(rate, delay.delay_s - grown_s, delay.skew_ppm, silent, highest)
    for _ in range(FIRST_PASSES):
        inputs = window.inputs(way)
        way = replace(way, rooms=_solved(window, way, inputs, window.bleed(way, inputs)))
        way = _mended(window, way, window.bleed(way, inputs))
    bleed = window.bleed(way, window.inputs(way))
    return Learned(way, softer_db(window.heard, bleed, rate))


def _found_again(window: Window, way: Way, bleed: Sound) -> Way:
    """Return ``way`` with delay and volume at which its ``bleed`` is likest to what is heard."""
    late = likest(window.heard, bleed, window.rate, REACH_S)
    moved = replace(way, delay_s=way.delay_s + late / window.rate)
    bleed = window.bleed(moved, window.inputs(moved))
    power = float(np.vdot(bleed, bleed))
    gain = float(np.vdot(window.heard, bleed)) / max(power, QUIET)
    return replace(moved, rooms=moved.rooms * np.float32(gain)) if gain > 0 else moved


def _mended(window: Window, way: Way, bleed: Sound) -> Way:
    """Return ``way`` with what is left between the two clocks, from the slope of ``bleed``."""
    weights = trust(window.heard - bleed, window.rate)
    (late_s, slope), _ = drift_left(window.heard, bleed, weights, window.rate)
    seconds = len(bleed) / window.rate
    if seconds < STEADY_S:
        late_s, slope = late_s + slope * seconds / 2, 0.0
    start_s = window.first / window.rate
    return replace(
        way,
        delay_s=way.delay_s + late_s - slope * start_s,
        skew_ppm=way.skew_ppm + 1e6 * slope,
    )


def _solved(window: Window, way: Way, inputs: Inputs, bleed: Sound) -> Sound:
    """Return the responses solved afresh, held to those of ``way``."""
    known = float(np.sum(way.rooms**2))
    silent = np.zeros(way.taps, np.float32)
    heard = np.concatenate([silent, window.heard])
    if not known:
        even = np.concatenate([silent, np.ones_like(window.heard)])
        return response(inputs, heard, even, start=way.rooms, steps=FIRST_STEPS)
    left = window.heard - bleed
    weights = np.concatenate([silent, trust(left, window.rate)])
    load = usual_power(left, window.rate) * way.taps / (CHANGE * known)
    return response(inputs, heard, weights, start=way.rooms, steps=STEPS, load=load)
