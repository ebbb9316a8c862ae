"""The row of matched notes that the walk of a free tempo runs over.

Written time, written units and where the tempo is freer than elsewhere: over a pause sign, from
one run of the passage to the next, and in the last bars, which slow down as much as one likes.
"""

from collections.abc import Collection, Sequence

import numpy as np

from rhythmtrain.assess.free_walk import Floats, Row
from rhythmtrain.timing.timeline import Timeline

# The tempo that a figure is measured by is that of so many units to either side.
LOCAL_UNITS = 3.0
LONGEST_STEP = 1.5
MOST_LOCAL = 1.6
# How far time may jump by itself: over a pause sign (beats) and between two runs (seconds).
PAUSE_BEATS = 2.0
BETWEEN_RUNS_S = 10.0
# Bars left to the end of a run, and how many times as freely the tempo changes there: a final
# ritard halves the tempo within a bar or two (Friberg & Sundberg 1999).
ENDING = ((1, 4.0), (2, 2.0))


def row_of(
    timeline: Timeline,
    notes: Sequence[int],
    times_s: Sequence[float],
    begins: Collection[int] = (),
) -> Row:
    """Return the row of the matched ``notes`` (indices, in order), played at ``times_s``.

    Before the notes ``begins`` the player stopped and began again.
    """
    played = [timeline.notes[note] for note in notes]
    written = np.array([timeline.seconds(note.at) for note in played])
    jumps = np.zeros(len(played))
    for rank in range(1, len(played)):
        before, here = played[rank - 1], played[rank]
        if (before.run, before.role) != (here.run, here.role) or notes[rank] in begins:
            jumps[rank] = BETWEEN_RUNS_S
        elif any(
            timeline.bars[place].bar.pause for place in range(before.place + 1, here.place + 1)
        ):
            beat = timeline.bars[here.place].bar.metre.tempo_value
            jumps[rank] = PAUSE_BEATS * float(beat) / timeline.tempo.speed_at(here.at)
    return Row(
        written,
        units_of(timeline, notes),
        np.asarray(times_s, dtype=float),
        jumps,
        _looseness(timeline, notes),
    )


def local_stretch(row: Row) -> Floats:
    """Return played over written duration around each note, shape (n,).

    Steps of up to ``LONGEST_STEP`` units within ``LOCAL_UNITS`` to either side are taken together:
    a rest or a long note may be miscounted, and must not set the tempo it is judged by.
    """
    kept = np.diff(row.units, prepend=-np.inf) <= LONGEST_STEP
    written = np.cumsum(np.diff(row.written_s, prepend=row.written_s[0]) * kept)
    heard = np.cumsum(np.diff(row.played_s, prepend=row.played_s[0]) * kept)
    last = len(row) - 1
    ahead = np.minimum(np.searchsorted(row.units, row.units + LOCAL_UNITS), last)
    behind = np.maximum(np.searchsorted(row.units, row.units - LOCAL_UNITS, side="right") - 1, 0)
    spans = written[ahead] - written[behind]
    usual = row.stretch
    local = np.where(
        spans > 0, (heard[ahead] - heard[behind]) / np.where(spans > 0, spans, 1), usual
    )
    stretch: Floats = usual * np.clip(local / usual, 1 / MOST_LOCAL, MOST_LOCAL)
    return stretch


def units_of(timeline: Timeline, notes: Sequence[int]) -> Floats:
    """Return the place of each note in written units: a compound beat counts as three."""
    starts, rates = [0.0], []
    for bar in timeline.bars:
        beats = bar.bar.metre.beats
        units = sum(3.0 if beat.compound else max(1.0, float(beat.length)) for beat in beats)
        rates.append(units / float(bar.bar.metre.length))
        starts.append(starts[-1] + rates[-1] * float(bar.bar.length))
    places = [(timeline.notes[note].place, timeline.notes[note].at) for note in notes]
    return np.array(
        [
            starts[place] + rates[place] * float(at - timeline.bars[place].start)
            for place, at in places
        ]
    )


def _looseness(timeline: Timeline, notes: Sequence[int]) -> Floats:
    """Return how many times as freely tempo may change before each note: more in a last bar."""
    ends = {(bar.run, bar.role): bar.stop for bar in timeline.bars}
    loose = np.ones(len(notes))
    for rank, number in enumerate(notes):
        note = timeline.notes[number]
        bar = timeline.bars[note.place].bar
        left = (ends[note.run, note.role] - note.at) / bar.metre.length
        loose[rank] = next((times for bars, times in ENDING if left <= bars), 1.0)
    return loose
