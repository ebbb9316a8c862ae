"""The passage: bars of counted places, exact, as the player reads them.

A bar holds the places that are *counted*: played, silent or held.  A note begins at a played
place and sounds until the next played or silent place, also over the bar line; a place that is
not counted carries on what was before it.  So the same values serve to print, to speak, to click
and to judge.  Nothing here knows tempo in seconds or how often the passage is repeated.

Time zero is the start of the first whole bar; an upbeat lies before it and is negative.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.errors import DrillError, RequestError
from rhythmtrain.score.counts import count_name
from rhythmtrain.score.metre import Metre
from rhythmtrain.units import Bpm

MOST_BARS = 9_999


class Kind(StrEnum):
    """What a counted place is: a note begins, silence, or the note before it goes on."""

    PLAYED = "played"
    SILENT = "silent"
    HELD = "held"


@dataclass(frozen=True, slots=True)
class Place:
    """One counted place: ``at`` quarters after the nominal start of its bar.

    ``pitches`` are MIDI note numbers as they sound, empty where the passage has none.
    """

    at: Fraction
    kind: Kind
    accent: bool = False
    pitches: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class TempoMark:
    """A tempo from a bar on, in beats of its metre; with ``to``, gradually over so many bars."""

    bpm: Bpm
    to: Bpm | None = None
    over_bars: int = 0


@dataclass(frozen=True, slots=True)
class Bar:
    """One bar as written.

    ``begins`` and ``ends`` are quarters after the nominal start of the bar: an upbeat begins
    late, a bar that shares its time with an upbeat ends early.  A bar without places is a bar of
    rest.  ``times`` is 0, or how often in all the repeat is played that this bar closes.
    ``ending`` is 1 on the first bar of the first time, 2 on the first bar of the second time.
    ``beams`` are the first and last place under each beam of its score; they are for paper alone.
    """

    number: int
    metre: Metre
    places: tuple[Place, ...]
    begins: Fraction
    ends: Fraction
    opens: bool = False
    times: int = 0
    ending: int = 0
    tempo: TempoMark | None = None
    pause: bool = False
    landmarks: tuple[str, ...] = ()
    beams: tuple[tuple[Fraction, Fraction], ...] = field(default=(), compare=False, repr=False)

    def __post_init__(self) -> None:
        """Refuse places out of order or outside the bar."""
        if not 0 <= self.begins < self.ends <= self.metre.length:
            raise DrillError(f"bar {self.number} would begin after its end")
        spots = [place.at for place in self.places]
        if any(b <= a for a, b in pairwise(spots)):
            raise DrillError(f"bar {self.number}: its counts are not in order")
        if spots and not (self.begins <= spots[0] and spots[-1] < self.ends):
            raise DrillError(f"bar {self.number}: a count lies outside the bar")

    @property
    def length(self) -> Fraction:
        """Return how long the bar lasts as written, in quarters."""
        return self.ends - self.begins


@dataclass(frozen=True, slots=True)
class EntryMark:
    """An entry that the drill asks to practise: its bar, count, and when "ready" is said."""

    bar: int
    count: str
    prepare: Fraction = Fraction(1)
    word: str = "ready"


@dataclass(frozen=True, slots=True)
class Passage:
    """A rhythm to learn: its bars, the accompanist's rhythm beside them, entries asked for.

    ``tempo`` is in beats of the first bar's metre.  ``cue`` is empty, or one bar for every bar of
    ``bars`` with the same numbers and lengths.  ``rested`` says how many bars of rest were left out
    right before the first bar, where the count of a rest goes on from them.  ``written_up`` is by how
    many semitones the player reads above what sounds, as for an instrument in another key; all pitches
    here are as they sound.
    """

    title: str
    tempo: Bpm
    bars: tuple[Bar, ...]
    cue: tuple[Bar, ...] = ()
    marks: tuple[EntryMark, ...] = ()
    about: str = ""
    rested: int = 0
    written_up: int = 0

    def __post_init__(self) -> None:
        """Refuse an empty passage and a cue that does not run beside it."""
        if not self.bars:
            raise DrillError("the passage has no bars")
        if len(self.bars) > MOST_BARS:
            raise DrillError(f"the passage has {len(self.bars)} bars; at most {MOST_BARS} are read")
        if self.cue and [bar.length for bar in self.cue] != [bar.length for bar in self.bars]:
            raise DrillError(f"the cue has {len(self.cue)} bars and the rhythm {len(self.bars)}")

    @property
    def metre(self) -> Metre:
        """Return the metre that the passage begins in."""
        return self.bars[0].metre


@dataclass(frozen=True, slots=True)
class Note:
    """One note: which bar (index and number) and count it begins on, when, and for how long."""

    index: int
    bar: int
    count: str
    at: Fraction
    length: Fraction
    accent: bool = False
    pitches: tuple[int, ...] = ()


def bar_starts(bars: tuple[Bar, ...]) -> list[Fraction]:
    """Return where each bar begins, in quarters from the start of the first whole bar."""
    at = -bars[0].length if bars[0].begins else Fraction(0)
    starts = []
    for bar in bars:
        starts.append(at)
        at += bar.length
    return starts


def notes_of(bars: tuple[Bar, ...]) -> tuple[Note, ...]:
    """Return the notes of ``bars`` played once in the order given, one for each distinct onset."""
    notes: list[Note] = []
    sounding = False
    for index, at, bar, place in _events(bars):
        if sounding and (place is None or place.kind is not Kind.HELD):
            notes[-1] = replace(notes[-1], length=at - notes[-1].at)
            sounding = False
        if place is not None and place.kind is Kind.PLAYED:
            count = count_name(bar.metre, place.at)
            notes.append(
                Note(index, bar.number, count, at, Fraction(0), place.accent, place.pitches)
            )
            sounding = True
    return tuple(notes)


def numbered(passage: Passage, number: int) -> int:
    """Return the index of the bar printed as ``number``.

    Raises:
        RequestError: the passage has no such bar.
    """
    for index, bar in enumerate(passage.bars):
        if bar.number == number:
            return index
    first, last = passage.bars[0].number, passage.bars[-1].number
    raise RequestError(f"there is no bar {number}: the passage has bars {first} to {last}")


def _events(bars: tuple[Bar, ...]) -> Iterator[tuple[int, Fraction, Bar, Place | None]]:
    """Yield every counted place in order; None where a bar of rest begins and at the end."""
    at = Fraction(0)
    for index, (bar, at) in enumerate(zip(bars, bar_starts(bars), strict=True)):
        if not bar.places:
            yield index, at, bar, None
        for place in bar.places:
            yield index, at - bar.begins + place.at, bar, place
    yield len(bars) - 1, at + bars[-1].length, bars[-1], None
