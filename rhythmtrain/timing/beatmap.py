"""The beat map: which bar and beat of a recording falls at which second of it.

A map may cover part of a recording.  Beats go forward in written and in heard time; none is left
out between the first and the last, because a gap would have to be filled in by a guess.

As a tempo map it starts at its own quarter 0, the first bar's first beat; ``zero_s`` is the
second of the recording at which that falls.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.score.metre import Metre
from rhythmtrain.timing.tempomap import TempoMap, through

LATEST_S = 24 * 3600.0
LARGEST_BAR, LARGEST_BEAT = 99_999, 64
FEWEST_BEATS = 2

MetreOf = Callable[[int], Metre]


@dataclass(frozen=True, slots=True)
class MappedBeat:
    """One beat of a recording: its second, bar and beat (from 1), and its standard error or None."""

    time_s: float
    bar: int
    beat: int
    uncertainty_s: float | None = None

    def __post_init__(self) -> None:
        """Refuse what is no time or no place of a bar."""
        if not math.isfinite(self.time_s) or not 0 <= self.time_s <= LATEST_S:
            raise TakeError(f"{self} is not a second of a recording, from 0 to a day")
        if not (0 <= self.bar <= LARGEST_BAR and 1 <= self.beat <= LARGEST_BEAT):
            raise TakeError(f"{self} is not a bar and a beat such as 17.1")
        unsure = self.uncertainty_s
        if unsure is not None and not (math.isfinite(unsure) and unsure >= 0):
            raise TakeError(f"the uncertainty of {self} must be 0 or more seconds, got {unsure:g}")

    @property
    def name(self) -> str:
        """Return the place as written: "17.1"."""
        return f"{self.bar}.{self.beat}"

    def __str__(self) -> str:
        """Return the place and the second: "17.1 at 21.7 s"."""
        return f"{self.name} at {self.time_s:g} s"


@dataclass(frozen=True, slots=True)
class BeatMap:
    """Beats in order, none left out; at least two.

    Raises:
        TakeError: times that go backwards, or a place that does not follow on the one before.
    """

    beats: tuple[MappedBeat, ...]

    def __post_init__(self) -> None:
        """Check that the beats go forward, one after the other."""
        if len(self.beats) < FEWEST_BEATS:
            raise TakeError(f"a beat map needs {FEWEST_BEATS} beats or more, got {len(self.beats)}")
        for early, late in pairwise(self.beats):
            if late.time_s <= early.time_s:
                raise TakeError(f"the beat map goes backwards: {late} comes after {early}")
            same = late.bar == early.bar and late.beat == early.beat + 1
            if not same and not (late.bar == early.bar + 1 and late.beat == 1):
                raise TakeError(
                    f"the beat map jumps from {early.name} to {late.name}: every beat in between "
                    "needs its line"
                )

    @property
    def start_s(self) -> float:
        """Return the second of the first mapped beat."""
        return self.beats[0].time_s

    @property
    def bars(self) -> tuple[int, int]:
        """Return the first and the last bar of which a beat is mapped."""
        return self.beats[0].bar, self.beats[-1].bar

    def second_of(self, bar: int, beat: int = 1) -> float:
        """Return the second of a mapped beat.

        Raises:
            RequestError: the map does not cover it.
        """
        for mapped in self.beats:
            if (mapped.bar, mapped.beat) == (bar, beat):
                return mapped.time_s
        first, last = self.beats[0].name, self.beats[-1].name
        raise RequestError(
            f"the beat map covers {first} to {last}, not {bar}.{beat}: map those bars too"
        )

    def uncertainty_near(self, time_s: float) -> float:
        """Return the standard error of the mapped beat nearest to ``time_s``; 0 where none is told."""
        nearest = min(self.beats, key=lambda beat: abs(beat.time_s - time_s))
        return nearest.uncertainty_s or 0.0

    def quarters(self, metre_of: MetreOf) -> tuple[Fraction, ...]:
        """Return how many quarters each beat lies after the first beat of the first mapped bar.

        ``metre_of`` gives the metre of a bar.

        Raises:
            RequestError: the map has more or fewer beats in a bar than its metre.
        """
        places = []
        start = Fraction(0)
        for number, mapped in enumerate(self.beats):
            metre = metre_of(mapped.bar)
            if number and mapped.beat == 1:
                before = self.beats[number - 1]
                _check_full(before, metre_of(before.bar))
                start += metre_of(before.bar).length
            if mapped.beat > len(metre.beats):
                raise RequestError(
                    f"the beat map has a beat {mapped.name}, but {metre} has {len(metre.beats)} "
                    "beats: is it the map of this piece, counted like this?"
                )
            places.append(start + metre.beats[mapped.beat - 1].start)
        return tuple(places)

    def tempo_map(self, metre_of: MetreOf) -> TempoMap:
        """Return the map from quarters, 0 at the first mapped bar's first beat, to seconds.

        Time 0 of it is that beat; in the recording it falls at ``zero_s``.
        """
        times = [beat.time_s for beat in self.beats]
        return through(list(zip(self.quarters(metre_of), times, strict=True)))

    def zero_s(self, metre_of: MetreOf) -> float:
        """Return the second of the recording at which quarter 0 of ``tempo_map`` falls."""
        return self.start_s - self.tempo_map(metre_of).seconds(self.quarters(metre_of)[0])


def _check_full(last: MappedBeat, metre: Metre) -> None:
    if last.beat != len(metre.beats):
        raise RequestError(
            f"bar {last.bar} of the beat map ends after beat {last.beat}, but {metre} has "
            f"{len(metre.beats)} beats: is it the map of this piece, counted like this?"
        )
