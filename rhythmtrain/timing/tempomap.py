"""The tempo map: from written quarters to seconds and back, exactly, in closed form.

A map is a row of stretches.  In each the speed (quarters a second) goes in a straight line over
*written* time from its first to its last value; steady tempo is the case where both are equal.
With speed v(q) = v0 + k·(q - q0), time is the integral of dq / v(q), so

    t = t0 + (q - q0) / v0                     steady
    t = t0 + ln(v(q) / v0) / k                 gradual

Every time is computed from the start of its stretch, never by adding up beats, so an hour of
clicks has no drift.  Before the first and after the last stretch the speed stays as it was.
This is the only module that turns quarters into seconds.
"""

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.errors import RequestError
from rhythmtrain.units import Seconds

STEADY = 1e-12


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the map: from ``start`` to ``stop`` quarters, speeds in quarters a second."""

    start: Fraction
    stop: Fraction
    speed: float
    last_speed: float

    @property
    def slope(self) -> float:
        """Return the change of speed for each quarter."""
        return (self.last_speed - self.speed) / float(self.stop - self.start)

    def seconds(self, quarters: float) -> float:
        """Return the seconds from the start of the stretch to ``quarters`` after it."""
        if abs(self.last_speed - self.speed) <= STEADY:
            return quarters / self.speed
        return math.log1p(self.slope * quarters / self.speed) / self.slope

    def quarters(self, seconds: float) -> float:
        """Return the quarters played ``seconds`` after the start of the stretch."""
        if abs(self.last_speed - self.speed) <= STEADY:
            return seconds * self.speed
        return math.expm1(self.slope * seconds) * self.speed / self.slope


@dataclass(frozen=True, slots=True)
class TempoMap:
    """Stretches in order, touching each other; time 0 is at quarter 0."""

    stretches: tuple[Stretch, ...]
    starts_s: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        """Check the stretches and fix when each of them starts."""
        if not self.stretches:
            raise RequestError("a tempo map needs at least one tempo")
        for stretch in self.stretches:
            if not (stretch.stop > stretch.start and min(stretch.speed, stretch.last_speed) > 0):
                raise RequestError("tempo must be more than 0 beats a minute throughout")
        starts = [0.0]
        for stretch in self.stretches[:-1]:
            starts.append(starts[-1] + stretch.seconds(float(stretch.stop - stretch.start)))
        object.__setattr__(self, "starts_s", tuple(starts))
        zero = self.seconds(Fraction(0))
        object.__setattr__(self, "starts_s", tuple(start - zero for start in starts))

    def seconds(self, at: Fraction) -> Seconds:
        """Return when ``at`` quarters falls, in seconds from quarter 0 (negative before it)."""
        index = self._index(at)
        stretch = self.stretches[index]
        after = float(at - stretch.start)
        if at > stretch.stop:
            whole = stretch.seconds(float(stretch.stop - stretch.start))
            extra = float(at - stretch.stop) / stretch.last_speed
            return Seconds(self.starts_s[index] + whole + extra)
        if after < 0:
            return Seconds(self.starts_s[0] + after / stretch.speed)
        return Seconds(self.starts_s[index] + stretch.seconds(after))

    def quarters(self, time: float) -> float:
        """Return the place in quarters, as a float, that falls at ``time`` seconds."""
        index = max(bisect_right(self.starts_s, time) - 1, 0)
        stretch = self.stretches[index]
        after = time - self.starts_s[index]
        whole = stretch.seconds(float(stretch.stop - stretch.start))
        if after > whole:
            return float(stretch.stop) + (after - whole) * stretch.last_speed
        if after < 0:
            return float(stretch.start) + after * stretch.speed
        return float(stretch.start) + stretch.quarters(after)

    def speed_at(self, at: Fraction) -> float:
        """Return the quarters a second at ``at``."""
        stretch = self.stretches[self._index(at)]
        if at <= stretch.start:
            return stretch.speed
        if at >= stretch.stop:
            return stretch.last_speed
        return stretch.speed + stretch.slope * float(at - stretch.start)

    def faster(self, factor: float) -> "TempoMap":
        """Return this map played ``factor`` times as fast (0.5 doubles every time)."""
        if not math.isfinite(factor) or factor <= 0:
            raise RequestError(f"speed must be more than 0 (1 is as written), got {factor:g}")
        return TempoMap(
            tuple(
                Stretch(part.start, part.stop, part.speed * factor, part.last_speed * factor)
                for part in self.stretches
            )
        )

    def _index(self, at: Fraction) -> int:
        found = bisect_right(self.stretches, at, key=lambda part: part.start) - 1
        return max(found, 0)


def steady(quarters_a_minute: float) -> TempoMap:
    """Return the map of one steady tempo."""
    speed = quarters_a_minute / 60
    return TempoMap((Stretch(Fraction(0), Fraction(1), speed, speed),))


def through(points: Sequence[tuple[Fraction, float]]) -> TempoMap:
    """Return the map through anchors (quarters, seconds), steady between neighbours.

    Raises:
        RequestError: fewer than two anchors, or anchors that do not go forward.
    """
    parts = []
    for (start, begun), (stop, ended) in pairwise(points):
        if stop <= start or not ended > begun:
            raise RequestError("a tempo map's anchors must go forward in written and in heard time")
        speed = float(stop - start) / (ended - begun)
        parts.append(Stretch(start, stop, speed, speed))
    if not parts:
        raise RequestError("a tempo map needs at least two anchors")
    return TempoMap(tuple(parts))
