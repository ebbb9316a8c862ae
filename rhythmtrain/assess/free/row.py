"""The row of matched notes that the walk of a free tempo runs over.

Written time, written units and where the tempo is freer than elsewhere: over a pause sign, from
one run of the passage to the next, and in the last bars, which slow down as much as one likes.
"""

from collections.abc import Collection, Sequence

import numpy as np

from rhythmtrain.assess.free.walk import Floats, Row
from rhythmtrain.timing.timeline import Timeline

# The tempo that a figure is measured by: from slopes between notes up to so many units and lags
# apart, so many notes to either side.
LOCAL_UNITS = 5.0
NEAR_NOTES, MOST_LAG = 8, 6
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

    It is the weighted median of the slopes between notes up to ``MOST_LAG`` apart (Sen 1968), so
    that neither a displaced note nor one miscounted rest sets the tempo it is judged by.
    """
    slopes, spans = _slopes(row)
    size = len(row)
    here = np.arange(size)[:, None, None]
    starts = here + np.arange(-NEAR_NOTES, NEAR_NOTES)[:, None]
    inside = (starts >= 0) & (starts + np.arange(1, MOST_LAG + 1) <= here + NEAR_NOTES)
    near = np.clip(starts, 0, size - 1)[..., 0]
    found = np.where(inside, slopes[near], np.nan).reshape(size, -1)
    weight = np.where(inside, spans[near], 0.0).reshape(size, -1)
    local = _weighted_median(np.where(np.isnan(found), row.stretch, found), weight)
    stretch: Floats = row.stretch * np.clip(local / row.stretch, 1 / MOST_LOCAL, MOST_LOCAL)
    return stretch


def _slopes(row: Row) -> tuple[Floats, Floats]:
    """Return (slopes, units) from each note to those 1 to ``MOST_LAG`` after it, (n, MOST_LAG)."""
    size = len(row)
    parted = np.cumsum(row.free_s)
    slopes = np.full((size, MOST_LAG), np.nan)
    spans = np.zeros((size, MOST_LAG))
    for lag in range(1, min(MOST_LAG, size - 1) + 1):
        ahead = row.written_s[lag:] - row.written_s[:-lag]
        units = row.units[lag:] - row.units[:-lag]
        kept = (units <= LOCAL_UNITS) & (parted[lag:] == parted[:-lag])
        heard = row.played_s[lag:] - row.played_s[:-lag]
        slopes[: size - lag, lag - 1] = np.where(kept, heard / ahead, np.nan)
        spans[: size - lag, lag - 1] = np.where(kept, units, 0.0)
    return slopes, spans


def _weighted_median(values: Floats, weights: Floats) -> Floats:
    """Return the weighted median of each row."""
    order = np.argsort(values, axis=1)
    values = np.take_along_axis(values, order, axis=1)
    total = np.cumsum(np.take_along_axis(weights, order, axis=1), axis=1)
    middle = np.argmax(total >= total[:, -1:] / 2, axis=1)
    median: Floats = np.take_along_axis(values, middle[:, None], axis=1)[:, 0]
    return median


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
