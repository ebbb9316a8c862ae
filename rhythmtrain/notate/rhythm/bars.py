"""From the figures of a reading to bars.

How long a clap sounds says nothing.  So a note is held until the next one or, where none comes, to
the end of its bar; a bar in which nobody claps is a bar of rest.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.notate.rhythm.search import Found
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import Bar, Kind, Place


@dataclass(frozen=True, slots=True)
class ReadBeat:
    """A beat of the best reading: its bar's index, where it begins in the bar, its notes' places."""

    bar: int
    start: Fraction
    length: Fraction
    notes: tuple[Fraction, ...]


def metre_of(metres: Sequence[Metre], bar: int) -> Metre:
    """Return the metre of bar ``bar``; the last one said goes on."""
    return metres[min(bar, len(metres) - 1)]


def read_beats(found: Found, metres: Sequence[Metre], first_beat: int) -> Iterator[ReadBeat]:
    """Yield every beat of the best reading; ``first_beat`` is the index of the first in its bar."""
    bar, beat = 0, first_beat
    for written, number in zip(found.beats, found.readings[0].figures, strict=False):
        beats = metre_of(metres, bar).beats
        start = beats[beat].start
        at = written.figures[number].at if number >= 0 else ()
        yield ReadBeat(bar, start, beats[beat].length, tuple(start + place for place in at))
        bar, beat = (bar, beat + 1) if beat + 1 < len(beats) else (bar + 1, 0)


def onset_places(beats: Sequence[ReadBeat]) -> list[Fraction]:
    """Return where each note falls, in quarters from the first beat."""
    places, at = [], Fraction(0)
    for beat in beats:
        places += [at + place - beat.start for place in beat.notes]
        at += beat.length
    return places


def written_bars(
    beats: Sequence[ReadBeat], metres: Sequence[Metre], pauses: Sequence[int]
) -> tuple[Bar, ...]:
    """Return the bars of ``beats``; ``pauses`` are indices of beats before which time stops.

    Where the first beat is not the first of its bar, the bar is an upbeat with the number 0.
    """
    begins = beats[0].start
    last = max(beat.bar for beat in beats if beat.notes)
    stops = {beats[index].bar for index in pauses}
    bars = []
    for index in range(last + 1):
        metre = metre_of(metres, index)
        notes = sorted(place for beat in beats if beat.bar == index for place in beat.notes)
        bars.append(
            Bar(
                index if begins else index + 1,
                metre,
                tuple(Place(place, Kind.PLAYED) for place in notes),
                begins if index == 0 else Fraction(0),
                metre.length,
                pause=index in stops,
            )
        )
    return every_beat_named(tuple(bars))
