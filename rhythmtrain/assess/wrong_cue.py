"""The wrong cue: other places at which the accompanist plays what leads to an entry.

A player who listens for a figure comes in after it, wherever it comes.  So the accompanist's notes
in the bar before an entry (in two bars, where one holds fewer than two notes) are looked for in
the rest before the entry and for some bars after it; what has the same rhythm, and no note more, on
the same part of a beat is the same cue.  Where it comes all the time, or overlaps itself, it is no
cue but an accompaniment, and says nothing.

The notes are the passage's cue, or what is known otherwise of where the accompanist plays: each stroke
with the chance that there is one.  Two places are alike by the product, over all strokes before them, of
the chances that both are there or neither is; from even odds on they are called the same.  How many cues
that come twice are so found in a recording alone, tests/simulate/cue_table.py shows.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import prod

from rhythmtrain.timing.timeline import PlayedEntry, Timeline

FEWEST_NOTES = 2
MOST_PLACES = 3
BARS_AFTER = 4
MOST_BARS_BACK = 32
MOST_BARS_OF_CUE = 2
SAME = 0.5
RATHER = 0.5
SURE = 1.0


@dataclass(frozen=True, slots=True)
class SameCue:
    """A place where the entry's cue comes too: ``beats`` from the entry, and the bar it is in."""

    beats: float
    bar: int


@dataclass(frozen=True, slots=True)
class _Heard:
    """Where the accompanist plays, in quarters of the timeline, in order, with the chance of each."""

    at: Sequence[Fraction]
    chances: Sequence[float]

    def figure(self, place: Fraction, span: Fraction) -> dict[Fraction, float]:
        """Return how far before ``place`` the strokes of ``span`` quarters before it lie (negative)."""
        inside = slice(bisect_left(self.at, place - span), bisect_left(self.at, place))
        rows = zip(self.at[inside], self.chances[inside], strict=True)
        return {at - place: chance for at, chance in rows}

    def is_figure(self, place: Fraction, span: Fraction) -> bool:
        """Tell whether enough is played in the ``span`` quarters before ``place`` to be followed."""
        chances = self.figure(place, span).values()
        return sum(chance > RATHER for chance in chances) >= FEWEST_NOTES

    def alike(self, place: Fraction, other: Fraction, span: Fraction) -> bool:
        """Tell whether the same is played in the ``span`` quarters before both places."""
        here, there = self.figure(place, span), self.figure(other, span)
        pairs = [(here.get(at, 0.0), there.get(at, 0.0)) for at in here.keys() | there.keys()]
        same = prod(one * two + (1 - one) * (1 - two) for one, two in pairs)
        return same >= SAME and self.is_figure(other, span)


def same_cues(timeline: Timeline) -> dict[int, tuple[SameCue, ...]]:
    """Return, for the note of each entry, the other places after the same cue, nearest first."""
    heard = _heard(timeline)
    found = {entry.note: tuple(_elsewhere(timeline, entry, heard)) for entry in timeline.entries}
    return {
        note: tuple(sorted(places, key=lambda place: abs(place.beats)))
        for note, places in found.items()
        if 0 < len(places) <= MOST_PLACES
    }


def searched(timeline: Timeline, entry: PlayedEntry) -> tuple[Fraction, Fraction]:
    """Return from where to where the cue of ``entry`` may come, its own notes before it too."""
    at, bar = timeline.notes[entry.note].at, _bar_length(timeline, entry)
    back = min(entry.entry.rest, MOST_BARS_BACK * bar) + MOST_BARS_OF_CUE * bar
    return at - back, at + BARS_AFTER * bar


def _heard(timeline: Timeline) -> _Heard:
    if timeline.strokes:
        return _Heard(*zip(*timeline.strokes, strict=True))
    return _Heard([cue.at for cue in timeline.cues], [SURE] * len(timeline.cues))


def _elsewhere(timeline: Timeline, entry: PlayedEntry, heard: _Heard) -> Iterator[SameCue]:
    """Yield the places after the cue of ``entry``, but the entry's own."""
    note = timeline.notes[entry.note]
    metre = timeline.bars[note.place].bar.metre
    span = _span(heard, note.at, metre.length)
    if span is None:
        return
    beat = metre.length / len(metre.beats)
    back = min(entry.entry.rest, MOST_BARS_BACK * metre.length) // beat
    beats = range(-int(back), BARS_AFTER * len(metre.beats) + 1)
    same = [each for each in beats if each and heard.alike(note.at, note.at + each * beat, span)]
    if not any(abs(each * beat) < span for each in same):
        for each in same:
            yield SameCue(float(each), _bar_at(timeline, note.at + each * beat))


def _span(heard: _Heard, place: Fraction, bar: Fraction) -> Fraction | None:
    """Return how far back from ``place`` its cue goes: as many bars as it needs, or None."""
    spans = (bars * bar for bars in range(1, MOST_BARS_OF_CUE + 1))
    return next((span for span in spans if heard.is_figure(place, span)), None)


def _bar_length(timeline: Timeline, entry: PlayedEntry) -> Fraction:
    return timeline.bars[timeline.notes[entry.note].place].bar.metre.length


def _bar_at(timeline: Timeline, place: Fraction) -> int:
    """Return the number of the bar that ``place`` is in."""
    within = [bar for bar in timeline.bars if bar.index is not None and bar.start <= place]
    return (within[-1] if within else timeline.bars[0]).bar.number
