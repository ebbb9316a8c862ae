"""The wrong cue: other places at which the accompanist plays what leads to an entry.

A player who listens for a figure comes in after it, wherever it comes.  So the accompanist's notes
in the bar before an entry (in two bars, where one holds fewer than two notes) are looked for in
the rest before the entry and for some bars after it; what has the same rhythm, and no note more, is
the same cue.  Where it comes all the time it is no cue but an accompaniment, and says nothing.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.timing.timeline import PlayedEntry, Timeline

FEWEST_NOTES = 2
MOST_PLACES = 3
BARS_AFTER = 4
MOST_BARS_BACK = 32


@dataclass(frozen=True, slots=True)
class SameCue:
    """A place where the entry's cue comes too: ``beats`` from the entry, and the bar it is in."""

    beats: float
    bar: int


def same_cues(timeline: Timeline) -> dict[int, tuple[SameCue, ...]]:
    """Return, for the note of each entry, the other places after the same cue, nearest first."""
    found = {entry.note: tuple(_elsewhere(timeline, entry)) for entry in timeline.entries}
    return {
        note: tuple(sorted(places, key=lambda place: abs(place.beats)))
        for note, places in found.items()
        if 0 < len(places) <= MOST_PLACES
    }


def _elsewhere(timeline: Timeline, entry: PlayedEntry) -> Iterator[SameCue]:
    """Yield the places after the cue of ``entry``, but the entry's own."""
    note = timeline.notes[entry.note]
    metre = timeline.bars[note.place].bar.metre
    onsets = [cue.at for cue in timeline.cues]
    span = next(
        (bars * metre.length for bars in (1, 2) if _enough(onsets, note.at, bars * metre.length)),
        None,
    )
    if span is None:
        return
    figure = _figure(onsets, note.at, span)
    low = note.at - min(entry.entry.rest, MOST_BARS_BACK * metre.length)
    high = note.at + BARS_AFTER * metre.length
    beat = metre.length / len(metre.beats)
    for onset in onsets:
        place = onset - figure[0]
        if low <= place <= high and place != note.at and _figure(onsets, place, span) == figure:
            yield SameCue(float((place - note.at) / beat), _bar_at(timeline, place))


def _enough(onsets: list[Fraction], place: Fraction, span: Fraction) -> bool:
    return len(_figure(onsets, place, span)) >= FEWEST_NOTES


def _figure(onsets: list[Fraction], place: Fraction, span: Fraction) -> list[Fraction]:
    """Return how far before ``place`` the notes of ``span`` quarters before it lie (negative)."""
    return [onset - place for onset in onsets if place - span <= onset < place]


def _bar_at(timeline: Timeline, place: Fraction) -> int:
    """Return the number of the bar that ``place`` is in."""
    within = [bar for bar in timeline.bars if bar.index is not None and bar.start <= place]
    return (within[-1] if within else timeline.bars[0]).bar.number
