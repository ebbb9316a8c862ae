"""From track seconds to MIDI ticks, so that whoever reads the file back gets the seconds again.

A Standard MIDI File counts ticks and tells, in whole microseconds for each quarter, how long they
last.  Two things must come out right at once: beats should lie on the grid of the tempo, and no
event may sound more than a millisecond from its place, after an hour too.  Rounding a quarter at
208 to a microsecond alone costs 3 ms in an hour.  So a tempo is written as its nearest
microsecond while that strays by no more than ``STRAYS_S``; where it would, the stretch is divided
into two tempi one microsecond apart that come out even at its end.  Ticks are then read from the
tempi as *written*: an event is never further from its second than half a tick.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

# Divides by 32, 9, 5 and 7; half a tick of the slowest tempo MIDI can say is 0.83 ms.
TICKS_A_QUARTER = 10_080
MICROSECONDS = 1_000_000
SLOWEST_US = 0xFF_FF_FF
STRAYS_S = 0.0001
PIECE_QUARTERS = 400
DEFAULT_QUARTERS_A_MINUTE = 120.0


@dataclass(frozen=True, slots=True)
class TempoStep:
    """A tempo as written: from which tick, which second that is, microseconds a quarter."""

    tick: int
    second: float
    us_a_quarter: int

    def seconds(self, ticks: int) -> float:
        """Return how long ``ticks`` last at this tempo."""
        return ticks * self.us_a_quarter / (MICROSECONDS * TICKS_A_QUARTER)


@dataclass(frozen=True, slots=True)
class TickMap:
    """The written tempi in order; the first begins at tick 0 and second 0."""

    steps: tuple[TempoStep, ...]

    def tick(self, second: float) -> int:
        """Return the tick nearest to ``second`` of the track, never before its start."""
        found = bisect_right(self.steps, second, key=lambda step: step.second) - 1
        step = self.steps[max(found, 0)]
        ticks = (second - step.second) * MICROSECONDS * TICKS_A_QUARTER / step.us_a_quarter
        return max(step.tick + round(ticks), 0)

    def second(self, tick: int) -> float:
        """Return the second at which a reader of the file will hear ``tick``."""
        found = bisect_right(self.steps, tick, key=lambda step: step.tick) - 1
        step = self.steps[max(found, 0)]
        return step.second + step.seconds(tick - step.tick)


def tick_map(tempi: Sequence[tuple[float, float]], duration_s: float) -> TickMap:
    """Return the map for ``tempi``, (track second, quarters a minute) in order.

    The first tempo holds from the start of the track; without any, MIDI's own 120 does.  A tempo
    slower than MIDI can say is written as its slowest: seconds stay right, bar lines do not.
    """
    begun = [(0.0, tempi[0][1] if tempi else DEFAULT_QUARTERS_A_MINUTE), *tempi[1:]]
    ends = [start for start, _ in begun[1:]] + [max(duration_s, begun[-1][0])]
    steps: list[TempoStep] = []
    tick, second, quarters = 0, 0.0, 0.0
    for (start, tempo), stop in zip(begun, ends, strict=True):
        exact_us = min(60 * MICROSECONDS / tempo, SLOWEST_US)
        quarters += (stop - start) * MICROSECONDS / exact_us
        for us, ticks in _paces(round(quarters * TICKS_A_QUARTER) - tick, stop - second, exact_us):
            steps.append(TempoStep(tick, second, us))
            second += steps[-1].seconds(ticks)
            tick += ticks
    return TickMap(tuple(_changes(steps)))


def _paces(ticks: int, length_s: float, exact_us: float) -> Iterator[tuple[int, int]]:
    """Yield (microseconds a quarter, for how many ticks) that fill ``length_s`` in ``ticks``."""
    nearest = round(exact_us)
    if abs(ticks * nearest / (MICROSECONDS * TICKS_A_QUARTER) - length_s) <= STRAYS_S or not ticks:
        yield nearest, ticks
        return
    us = min(length_s * MICROSECONDS * TICKS_A_QUARTER / ticks, float(SLOWEST_US - 1))
    pieces = -(-ticks // (PIECE_QUARTERS * TICKS_A_QUARTER))
    for piece in range(pieces):
        part = ticks * (piece + 1) // pieces - ticks * piece // pieces
        longer = round(part * (us % 1))
        yield int(us), part - longer
        yield int(us) + 1, longer


def _changes(steps: list[TempoStep]) -> Iterator[TempoStep]:
    """Yield the steps that last and that differ from the one before them; at least the last."""
    told = None
    for place, step in enumerate(steps):
        lasts = place + 1 == len(steps) or steps[place + 1].tick > step.tick
        if lasts and step.us_a_quarter != told:
            told = step.us_a_quarter
            yield step
