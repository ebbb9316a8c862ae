"""When a tick of a MIDI file falls: in quarters as written, and in seconds.

Where ticks divide the quarter note, quarters are exact and seconds follow the tempo events.  Where
ticks divide the second (SMPTE division), seconds are exact, tempo events move nothing, and quarters
are those of a metronome set to the tempo that the file names.  Without a tempo event the tempo is
120 quarters a minute (RP-001).
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.midi.chunks import Chunks

DEFAULT_US_A_QUARTER = 500_000
MILLION = 1_000_000


@dataclass(frozen=True, slots=True)
class _Step:
    """From ``tick`` on, which is at ``quarter`` and ``second``, both grow by so much a tick."""

    tick: int
    quarter: Fraction
    second: Fraction
    quarters: Fraction
    seconds: Fraction


@dataclass(frozen=True, slots=True)
class MidiClock:
    """The clock of a file or, where its tracks are pieces of their own, of one track.

    ``counts_quarters`` is False where the file's ticks divide the second.
    """

    steps: tuple[_Step, ...]
    counts_quarters: bool

    def quarter(self, tick: int) -> Fraction:
        """Return where ``tick`` falls, in quarters from the start of the file."""
        step = self._step(tick)
        return step.quarter + (tick - step.tick) * step.quarters

    def second(self, tick: int) -> Fraction:
        """Return where ``tick`` falls, in seconds from the start of the file."""
        step = self._step(tick)
        return step.second + (tick - step.tick) * step.seconds

    def tick_quarters(self, tick: int) -> Fraction:
        """Return how long one tick is at ``tick``, in quarters."""
        return self._step(tick).quarters

    def steady(self, start: Fraction, stop: Fraction) -> float | None:
        """Return the quarters a minute between two quarters, or None where the tempo changes."""
        first, last = self._at_quarter(start), bisect_left(self.steps, stop, key=_quarter_of) - 1
        step = self.steps[first]
        return float(60 * step.quarters / step.seconds) if last <= first else None

    def _step(self, tick: int) -> _Step:
        return self.steps[bisect_right(self.steps, tick, key=lambda step: step.tick) - 1]

    def second_at(self, quarter: Fraction) -> Fraction:
        """Return the second at which ``quarter`` falls; the inverse of the two above."""
        step = self.steps[self._at_quarter(quarter)]
        return step.second + (quarter - step.quarter) / step.quarters * step.seconds

    def _at_quarter(self, quarter: Fraction) -> int:
        return max(bisect_right(self.steps, quarter, key=_quarter_of) - 1, 0)


def _quarter_of(step: _Step) -> Fraction:
    return step.quarter


def midi_clock(chunks: Chunks, tempi: Iterable[tuple[int, int]]) -> MidiClock:
    """Return the clock for ``tempi``: (tick, microseconds a quarter), in order of ticks.

    Of several at one tick the last counts.
    """
    quarters = Fraction(1, chunks.ticks_a_quarter or 1)
    over, under = chunks.ticks_a_second or (1, 1)
    steps: list[_Step] = []
    for tick, us in {0: DEFAULT_US_A_QUARTER, **dict(tempi)}.items():
        if chunks.ticks_a_second:
            seconds = Fraction(under, over)
            quarters = seconds * MILLION / us
        else:
            seconds = quarters * us / MILLION
        begun = steps[-1] if steps else _Step(0, *[Fraction(0)] * 4)
        ticks = tick - begun.tick
        steps.append(
            _Step(
                tick,
                begun.quarter + ticks * begun.quarters,
                begun.second + ticks * begun.seconds,
                quarters,
                seconds,
            )
        )
    return MidiClock(tuple(steps), chunks.ticks_a_quarter is not None)
