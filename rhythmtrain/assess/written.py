"""The written side of a judgement, as arrays: when the player's notes should fall.

Only notes that the player is to play stand here; where the bars are only heard, nothing is
expected.  Times are seconds from the start of bar 1 at the timeline's own speed.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.pace import Pace, pace_of
from rhythmtrain.timing.timeline import PlayedBar, PlayedNote, Timeline

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SAME_S = 0.001


@dataclass(frozen=True, slots=True)
class Written:
    """The player's notes of a timeline; every array has one item a note.

    ``index`` is the note's index in the timeline, ``place`` the index of its bar there,
    ``beat_s`` and ``bar_s`` how long a beat and the bar last where it stands.  ``opens`` is True
    for the first note of a bar, ``on_beat`` for those on a beat.  ``at`` is where it stands and
    ``beat_quarters`` and ``bar_quarters`` how long its beat and bar are, in quarters; ``unsure_s``
    is the standard error of its time.  ``speed`` is how much faster these times are than the
    timeline's.
    """

    times_s: Floats
    index: Ints
    place: Ints
    beat_s: Floats
    bar_s: Floats
    opens: NDArray[np.bool_]
    on_beat: NDArray[np.bool_]
    at: Floats
    beat_quarters: Floats
    bar_quarters: Floats
    unsure_s: Floats
    pace: Pace
    speed: float = 1.0

    def faster(self, factor: float) -> "Written":
        """Return the same notes played ``factor`` times as fast."""
        return replace(
            self,
            times_s=self.times_s / factor,
            beat_s=self.beat_s / factor,
            bar_s=self.bar_s / factor,
            unsure_s=self.unsure_s / factor,
            pace=self.pace.faster(factor),
            speed=self.speed * factor,
        )

    @property
    def phrase(self) -> Ints:
        """Return the number of each note's phrase; a gap of more than a bar parts two phrases."""
        parted = np.diff(self.times_s) > self.bar_s[1:] + SAME_S
        return np.concatenate(([0], np.cumsum(parted)))[: len(self.times_s)]

    def later_s(self, notes: slice, beats: float, note: int) -> Floats:
        """Return by how many seconds ``notes`` fall later, ``beats`` of the beat at ``note`` on."""
        places = self.at[notes] + beats * self.beat_quarters[note]
        return self.pace.second(places) - self.pace.second(self.at[notes])

    def beats_late(self, note: int, late_s: float) -> float:
        """Return how many of its beats after ``note`` there is what falls ``late_s`` after it."""
        then = self.pace.quarter(self.times_s[note] + np.array([0.0, late_s]))
        return float((then[1] - then[0]) / self.beat_quarters[note])

    @property
    def beat(self) -> float:
        """Return the usual length of a beat in seconds."""
        return float(np.median(self.beat_s))


def written_of(timeline: Timeline) -> Written:
    """Return the player's notes of ``timeline``."""
    index = [number for number, note in enumerate(timeline.notes) if note.expected]
    notes = [timeline.notes[number] for number in index]
    place = np.array([note.place for note in notes], dtype=np.intp)
    lengths = {number: _lengths_s(timeline, timeline.bars[number]) for number in set(place)}
    metres = {number: timeline.bars[number].bar.metre for number in set(place)}
    return Written(
        np.array([timeline.seconds(note.at) for note in notes], dtype=np.float64),
        np.array(index, dtype=np.intp),
        place,
        np.array([lengths[number][0] for number in place], dtype=np.float64),
        np.array([lengths[number][1] for number in place], dtype=np.float64),
        np.concatenate(([True], np.diff(place) > 0))[: len(place)],
        np.array([_on_beat(timeline, note) for note in notes], dtype=np.bool_),
        np.array([float(note.at) for note in notes], dtype=np.float64),
        np.array(
            [float(metres[number].length) / len(metres[number].beats) for number in place],
            dtype=np.float64,
        ),
        np.array([float(metres[number].length) for number in place], dtype=np.float64),
        np.array([timeline.uncertainty_s(note.at) for note in notes], dtype=np.float64),
        pace_of(timeline.tempo),
    )


def _on_beat(timeline: Timeline, note: PlayedNote) -> bool:
    bar = timeline.bars[note.place]
    return any(bar.nominal + beat.start == note.at for beat in bar.bar.metre.beats)


def _lengths_s(timeline: Timeline, bar: PlayedBar) -> tuple[float, float]:
    """Return how long a beat and the whole bar last, in seconds."""
    whole = float(timeline.seconds(bar.stop) - timeline.seconds(bar.start))
    quarter = whole / float(bar.bar.length)
    metre = bar.bar.metre
    return quarter * float(metre.length) / len(metre.beats), quarter * float(metre.length)
