"""The beat map: which bar and beat of a recording falls at which second of it.

As text, one beat a line: seconds, a tab, ``bar.beat`` (``17.1``), and optionally a tab and the
standard error in seconds.  That is the form beat annotations have in music research.  ``#`` starts
a comment.  A map may cover part of a recording.  Beats go forward in written and in heard time;
none is left out between the first and the last, because a gap would have to be filled in by a
guess.

As a tempo map it starts at its own quarter 0, the first bar's first beat; ``zero_s`` is the
second of the recording at which that falls.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.score.metre import Metre
from rhythmtrain.timing.tempomap import TempoMap, through

LATEST_S = 24 * 3600.0
LARGEST_BAR, LARGEST_BEAT = 99_999, 64
FEWEST_BEATS = 2
COLUMNS = (2, 3)
LARGEST_TEXT = 5_000_000

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


def read_beat_map(text: str) -> BeatMap:
    """Return the beat map written as ``text``.

    Raises:
        TakeError: a line that does not read (with its number), or beats that do not follow.
    """
    if len(text) > LARGEST_TEXT:
        raise TakeError("the beat map is larger than 5 MB: is it one?")
    return BeatMap(tuple(_lines(text)))


def write_beat_map(beat_map: BeatMap, *, comment: str = "") -> str:
    """Return ``beat_map`` as text that reads back as the same beats, to a tenth of a millisecond."""
    lines = [f"# {line}" for line in comment.splitlines()]
    for beat in beat_map.beats:
        unsure = "" if beat.uncertainty_s is None else f"\t{beat.uncertainty_s:.4f}"
        lines.append(f"{beat.time_s:.4f}\t{beat.name}{unsure}")
    return "\n".join(lines) + "\n"


def read_place(word: str) -> tuple[int, int]:
    """Return bar and beat of a place such as "17.1"; "17" is its first beat.

    Raises:
        TakeError: the word is no such place.
    """
    bar, _, beat = word.partition(".")
    if not (bar.isascii() and bar.isdigit() and len(bar) <= len(str(LARGEST_BAR))):
        raise TakeError(f"{word[:40]!r} is not a bar and a beat such as 17.1")
    if not beat and "." not in word:
        return int(bar), 1
    if not (beat.isascii() and beat.isdigit() and len(beat) <= len(str(LARGEST_BEAT))):
        raise TakeError(f"{word[:40]!r} is not a bar and a beat such as 17.1")
    return int(bar), int(beat)


def _lines(text: str) -> Iterator[MappedBeat]:
    for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1):
        words = line.split("#", 1)[0].split()
        if not words:
            continue
        if len(words) not in COLUMNS:
            raise TakeError(
                f"line {number}: write seconds, a tab, and bar.beat such as 17.1 (got {line[:40]!r})"
            )
        try:
            bar, beat = read_place(words[1])
            yield MappedBeat(_number(words[0]), bar, beat, *map(_number, words[2:]))
        except TakeError as error:
            raise TakeError(f"line {number}: {error}") from error


def _number(word: str) -> float:
    try:
        return float(word)
    except ValueError as error:
        raise TakeError(f"{word[:40]!r} is not a number of seconds") from error
