"""Reading a freely played take: what is asked, one try with its model, and what that says.

First the figures that were played as other figures, then the single notes without them, then the
entries.
"""

from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.assess.doubles import single
from rhythmtrain.assess.figures.places import chances
from rhythmtrain.assess.findings import EntryFinding, Mistake
from rhythmtrain.assess.free.entries import Heard, free_entries
from rhythmtrain.assess.free.lines import Read
from rhythmtrain.assess.free.mistakes import mistakes_of
from rhythmtrain.assess.free.offsets import Offsets, offsets_in
from rhythmtrain.assess.free.pieces import Asked, Go
from rhythmtrain.assess.free.row import local_stretch, row_of, units_of
from rhythmtrain.assess.free.tempo import search
from rhythmtrain.assess.free.walk import filter_for, fit
from rhythmtrain.assess.written import written_of
from rhythmtrain.capture.take import Take
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.timing.timeline import Timeline

# With a start that is given, what was heard this long before it is not the passage.
BEFORE_START_S = 1.0
# The take may be twice as fast as the timeline, so notes this much closer may be meant.
SLOWEST = 0.5
# What moves everything after it is followed over so many notes.
CARRIED_NOTES = 8
# Over a rest nobody's tempo is taken to be steadier than this (for every √unit).
LEAST_FREE = 0.075


@dataclass(frozen=True, slots=True)
class Judged:
    """The offsets of the matched notes, the mistakes and the entries of one try."""

    offsets: Offsets
    mistakes: tuple[Mistake, ...]
    entries: tuple[EntryFinding, ...]


def asked_of(timeline: Timeline, take: Take, start_s: float | None) -> Asked:
    """Return what is to be found: the player's notes, and the claps, each heard once."""
    written = written_of(timeline)
    if not len(written.times_s):
        raise RequestError("the passage has no notes to play, so there is nothing to check")
    times = np.array(take.times_s, dtype=np.float64)
    if start_s is not None:
        times = times[times >= start_s + min(0.0, float(written.times_s[0])) - BEFORE_START_S]
    if not len(times):
        raise TakeError(
            f"nothing was heard in {take.name}: check that the recording is not silent and that "
            "the microphone was near"
        )
    gaps = np.diff(written.times_s)
    heard = times[single(times, SLOWEST * float(np.min(gaps)) if len(gaps) else np.inf)]
    units = units_of(timeline, written.index.tolist())
    figures = _figures(timeline, written.index.tolist())
    return Asked(written.times_s, units, written.place.tolist(), heard, figures)


def _figures(timeline: Timeline, own: list[int]) -> tuple[dict[int, float], ...]:
    """Return what each wrong figure moves: ranks of ``own`` and written seconds."""
    ranks = {note: rank for rank, note in enumerate(own)}
    speed = timeline.tempo.speed_at
    found = []
    for chance in chances(timeline):
        moves = {
            ranks[note]: float(by) / speed(timeline.notes[note].at) for note, by in chance.moved
        }
        last = max(moves)
        if chance.after:
            after = float(chance.after) / speed(timeline.notes[own[last]].at)
            moves |= dict.fromkeys(range(last + 1, last + 1 + CARRIED_NOTES), after)
        found.append(moves)
    return tuple(found)


def read_of(timeline: Timeline, asked: Asked, go: Go) -> Read:
    """Return the try with the model of how freely it was played."""
    own = written_of(timeline).index.tolist()
    notes = [own[rank] for rank, _ in go.pairs]
    times = [float(asked.played_s[clap]) for _, clap in go.pairs]
    row = row_of(timeline, notes, times, {own[rank] for _, rank in go.breaks})
    speeds = np.array([timeline.tempo.speed_at(timeline.notes[note].at) for note in notes])
    gains = filter_for(row, fit(row))
    return Read(own, notes, row, gains, local_stretch(row) / speeds, go, asked.played_s)


def judged_of(timeline: Timeline, read: Read) -> Judged:
    """Return mistakes first, then what is left for the single notes, then the entries."""
    places = chances(timeline)
    found = search(places, read.notes, read.row, read.gains, read.quarters_s)
    inside = {
        note for note, reached in zip(read.own, read.reached().tolist(), strict=True) if reached
    }
    manner = fit(found.left)
    steady = replace(manner, tempo_spread=max(manner.tempo_spread, LEAST_FREE))
    heard = Heard(read.notes, read.row, filter_for(read.row, steady), read.quarters_s)
    return Judged(
        offsets_in(found.left, read.gains, read.notes, found.moved_s),
        mistakes_of(timeline, found.wrong, places),
        free_entries(timeline, heard, inside),
    )
