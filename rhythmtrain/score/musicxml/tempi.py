"""The tempi of a score: quarters a minute from each place on where one is written, in any part.

Where several parts write one at the same place, the topmost counts.  "Quarter = dotted quarter" scales
the tempo before it.  Before the first tempo, the first is taken to hold; without any it is 120 quarters a
minute, MusicXML's and MIDI's default.  A tempo that nobody plays (0 in some files) is left out.
"""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.musicxml.document import Score
from rhythmtrain.score.musicxml.ties import file_starts
from rhythmtrain.units import FASTEST_BPM, SLOWEST_BPM

DEFAULT_SPEED = Fraction(120)
# A tempo in beats is within range when the beat is between an eighth and a dotted half.
SLOWEST, FASTEST = Fraction(SLOWEST_BPM) * 3, Fraction(FASTEST_BPM) / 2
FINEST_SPEED = 10_000


@dataclass(frozen=True, slots=True)
class Tempi:
    """Where tempi begin (quarters from the file's first bar, rising), and the quarters a minute."""

    places: tuple[Fraction, ...]
    speeds: tuple[Fraction, ...]
    written: bool

    def at(self, place: Fraction) -> Fraction:
        """Return the quarters a minute in force at ``place``."""
        return self.speeds[max(bisect_right(self.places, place) - 1, 0)]

    def changes_within(self, start: Fraction, stop: Fraction) -> tuple[Fraction, ...]:
        """Return the places after ``start`` and before ``stop`` at which the tempo changes."""
        return self.places[bisect_right(self.places, start) : bisect_left(self.places, stop)]


def tempi_of(score: Score) -> Tempi:
    """Return the tempi of ``score`` in the order of the file."""
    marks = _marks(score)
    speeds: dict[Fraction, Fraction] = {}
    speed: Fraction | None = None
    for at in sorted(marks):
        written, scale = marks[at]
        wanted = written if written is not None else (speed or DEFAULT_SPEED) * (scale or 1)
        if SLOWEST <= wanted <= FASTEST and wanted != speed:
            speed = wanted.limit_denominator(FINEST_SPEED)
            speeds[at] = speed
    if not speeds:
        return Tempi((Fraction(0),), (DEFAULT_SPEED,), written=False)
    return Tempi(tuple(speeds), tuple(speeds.values()), written=True)


def _marks(score: Score) -> dict[Fraction, tuple[Fraction | None, Fraction | None]]:
    """Return the tempo or the scale written at each place."""
    starts = file_starts(score.bars)
    marks: dict[Fraction, tuple[Fraction | None, Fraction | None]] = {}
    for part in score.parts:
        for start, bar, measure in zip(starts, score.bars, part.measures, strict=False):
            for at, tempo in measure.signs.tempi:
                marks.setdefault(start + min(at, bar.length), (tempo, None))
            for at, scale in measure.signs.scaled:
                marks.setdefault(start + min(at, bar.length), (None, scale))
    return marks
