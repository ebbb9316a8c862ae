"""Slowing a recording down and making it steady: maps from its seconds to those of a track.

Such a map rises.  ``moved`` lays a beat map through it, so whatever is done to the sound, clicks
and counts are made from the beats' own places afterwards and never stretched themselves.
"""

import math
from collections.abc import Callable

from rhythmtrain.errors import RequestError
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat, MetreOf

SMALLEST_SPAN_S = 1e-3

TimeMap = Callable[[float], float]


def slowed(speed: float) -> TimeMap:
    """Return the map from a recording's seconds to a track's at ``speed`` (0.5 doubles them)."""
    if not math.isfinite(speed) or speed <= 0:
        raise RequestError(f"speed must be more than 0 (1 is as recorded), got {speed:g}")
    return lambda time_s: time_s / speed


def steadied(beat_map: BeatMap, metre_of: MetreOf, *, quarters_a_minute: float) -> TimeMap:
    """Return the map from a recording's seconds to a track's in which every quarter lasts alike.

    Between beats it is linear; before the first and after the last mapped beat the recording goes
    on at its own speed.  The first mapped beat stays where it is.

    Raises:
        RequestError: a tempo that is not more than 0.
    """
    if not math.isfinite(quarters_a_minute) or quarters_a_minute <= 0:
        raise RequestError(f"tempo must be more than 0, got {quarters_a_minute:g}")
    tempo = beat_map.tempo_map(metre_of)
    zero_s, first = beat_map.zero_s(metre_of), beat_map.quarters(metre_of)[0]
    start_s, stop_s = beat_map.beats[0].time_s, beat_map.beats[-1].time_s

    def by(time_s: float) -> float:
        inside = min(max(time_s, start_s), stop_s)
        quarters = tempo.quarters(inside - zero_s) - float(first)
        return start_s + quarters * 60 / quarters_a_minute + (time_s - inside)

    return by


def moved(beat_map: BeatMap, by: TimeMap) -> BeatMap:
    """Return the map of a track in which second t of the recording falls at ``by(t)``.

    Uncertainties grow as the time around them does.
    """
    return BeatMap(
        tuple(
            MappedBeat(by(beat.time_s), beat.bar, beat.beat, _stretched(beat, by))
            for beat in beat_map.beats
        )
    )


def _stretched(beat: MappedBeat, by: TimeMap) -> float | None:
    if beat.uncertainty_s is None:
        return None
    half = max(beat.uncertainty_s, SMALLEST_SPAN_S)
    low, high = max(beat.time_s - half, 0.0), beat.time_s + half
    return beat.uncertainty_s * (by(high) - by(low)) / (high - low)
