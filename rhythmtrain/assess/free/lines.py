"""The lines of the findings in free playing: a value for every note and every clap too many."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.findings import Extra, NoteFinding, Verdict
from rhythmtrain.assess.free.match_rows import MOST_SKIPS
from rhythmtrain.assess.free.offsets import PLAIN_WINDOWS, Offsets
from rhythmtrain.assess.free.pieces import Go
from rhythmtrain.assess.free.walk import Filter, Floats, Row
from rhythmtrain.score.counts import count_name
from rhythmtrain.timing.timeline import Timeline

# A try that begins or ends within so many notes of the passage's ends is meant to be whole.
NEAR_END = 2


@dataclass(frozen=True, slots=True)
class Read:
    """One try as it was followed.

    ``own`` are the indices in the timeline of all notes the player is to play, ``notes`` those
    that were matched; ``row``, ``gains`` and ``quarters_s`` belong to the matched ones.  ``go``
    holds the pairs as ranks of ``own`` and indices of ``played_s``.
    """

    own: Sequence[int]
    notes: Sequence[int]
    row: Row
    gains: Filter
    quarters_s: Floats
    go: Go
    played_s: Floats

    def reached(self) -> NDArray[np.bool_]:
        """Return for each of ``own`` whether the try went over it, played or not."""
        count = len(self.own)
        first, last = self.go.first_note, self.go.last_note
        low = 0 if first <= NEAR_END else first
        high = count if last >= count - 1 - NEAR_END else last + 1
        inside = np.zeros(count, dtype=bool)
        inside[low:high] = True
        ranks = [rank for rank, _ in self.go.pairs]
        for before, after in pairwise(ranks):
            if after - before > MOST_SKIPS + 1:
                inside[before + 1 : after] = False
        return inside


def note_lines(timeline: Timeline, read: Read, offsets: Offsets) -> tuple[NoteFinding, ...]:
    """Return a finding for every note that the player was to play."""
    expected = _expected_s(timeline, read, offsets)
    matched = {note: rank for rank, note in enumerate(read.notes)}
    lines: list[NoteFinding] = []
    for number, inside in zip(read.own, read.reached().tolist(), strict=True):
        note = timeline.notes[number]
        place = (number, note.note.bar, note.note.count, note.repeat)
        at = float(expected[len(lines)])
        if number not in matched:
            verdict = Verdict.MISSED if inside else Verdict.NOT_CHECKED
            lines.append(NoteFinding(*place, at, None, None, verdict, inside, 0.0))
            continue
        rank = matched[number]
        late, window = float(offsets.offsets_s[rank]), float(offsets.windows_s[rank])
        plain = abs(late) > PLAIN_WINDOWS * window
        lines.append(
            NoteFinding(*place, at, at + late, late, _verdict(late, window), plain, window)
        )
    return tuple(lines)


def _verdict(late_s: float, window_s: float) -> Verdict:
    if abs(late_s) <= window_s:
        return Verdict.IN_TIME
    return Verdict.LATE if late_s > 0 else Verdict.EARLY


def _expected_s(timeline: Timeline, read: Read, offsets: Offsets) -> Floats:
    """Return when each own note was expected, seconds of the take, carried on at both ends."""
    written = np.array([timeline.seconds(timeline.notes[note].at) for note in read.own])
    known = read.row.written_s
    times = read.row.played_s - offsets.offsets_s
    expected: Floats = np.interp(written, known, times)
    stretch = read.row.stretch
    expected = np.where(written < known[0], times[0] - stretch * (known[0] - written), expected)
    return np.where(written > known[-1], times[-1] + stretch * (written - known[-1]), expected)


def extra_lines(timeline: Timeline, read: Read, notes: Sequence[NoteFinding]) -> tuple[Extra, ...]:
    """Return the claps within the try that belong to no note, with the nearest bar and count."""
    used = {clap for _, clap in read.go.pairs} | set(read.go.replaced)
    first, last = min(used), max(used)
    at = np.array([float(timeline.notes[note.note].at) for note in notes])
    expected = np.maximum.accumulate([note.expected_s for note in notes])
    lines = []
    for clap in sorted(set(range(first, last + 1)) - used):
        time = float(read.played_s[clap])
        lines.append(Extra(time, *_count_near(timeline, float(np.interp(time, expected, at)))))
    return tuple(lines)


def _count_near(timeline: Timeline, at: float) -> tuple[int, str]:
    """Return the bar and the count (to a quarter of a beat) nearest to ``at`` quarters."""
    bar = [bar for bar in timeline.bars if float(bar.start) <= at or bar is timeline.bars[0]][-1]
    metre = bar.bar.metre
    finest = metre.beats[0].length / (6 if metre.beats[0].compound else 4)
    steps = round((at - float(bar.nominal)) / float(finest))
    place = min(max(steps * finest, bar.bar.begins), bar.bar.ends - finest)
    return bar.bar.number, count_name(metre, max(place, Fraction(0)))
