"""Telling wrong rhythm from free tempo: which figures were played as other figures.

The best-supported wrong figure is accepted and taken out of the take, then the next, until none
is left: f more than its least share and LLR more than 4, times the roughness of the take, so that
an uneven player is told less (f and LLR: ``free_shapes``).  A figure that comes four times or more
is also judged by its kind, all places together, which finds a habit too small to see in one place.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.figures import Chance
from rhythmtrain.assess.free_shapes import Weighed, shapes_of, weigh
from rhythmtrain.assess.free_walk import Filter, Floats, Row, filter_for, fit, roughness, without
from rhythmtrain.timing.timeline import Timeline

EVIDENCE = 4.0
# Beyond this share it is something else than the figure named.
MOST_SHARE = 1.6
POOLED_FROM = 4
HALF_WRONG = 0.5
# A wait before one note is taken for expression when it explains this much of what a figure does.
PAUSE_ODDS = 1.0
# The tempo that a figure is measured by is that of so many units to either side.
LOCAL_UNITS = 3.0
MOST_LOCAL = 1.6
ONE = Fraction(1)
# How far time may jump by itself: over a pause sign (beats) and between two runs (seconds).
PAUSE_BEATS = 2.0
BETWEEN_RUNS_S = 10.0


@dataclass(frozen=True, slots=True)
class Wrong:
    """A figure found wrong: its chance, how much of it is there, and the evidence (LLR).

    ``pooled`` is True where it was found by its kind and not by itself.
    """

    chance: Chance
    share: float
    evidence: float
    pooled: bool = False


def row_of(timeline: Timeline, notes: Sequence[int], times_s: Sequence[float]) -> Row:
    """Return the row of the matched ``notes`` (indices, in order), played at ``times_s``."""
    played = [timeline.notes[note] for note in notes]
    written = np.array([timeline.seconds(note.at) for note in played])
    jumps = np.zeros(len(played))
    for rank in range(1, len(played)):
        before, here = played[rank - 1], played[rank]
        if (before.run, before.role) != (here.run, here.role):
            jumps[rank] = BETWEEN_RUNS_S
        elif any(
            timeline.bars[place].bar.pause for place in range(before.place + 1, here.place + 1)
        ):
            metre = timeline.bars[here.place].bar.metre
            beat = float(metre.tempo_value / 1) / timeline.tempo.speed_at(here.at)
            jumps[rank] = PAUSE_BEATS * beat
    return Row(written, _units(timeline, notes), np.asarray(times_s, dtype=float), jumps)


def local_stretch(row: Row) -> Floats:
    """Return played over written duration around each note, ``LOCAL_UNITS`` to either side."""
    last = len(row) - 1
    ahead = np.minimum(np.searchsorted(row.units, row.units + LOCAL_UNITS), last)
    behind = np.maximum(np.searchsorted(row.units, row.units - LOCAL_UNITS, side="right") - 1, 0)
    local = (row.played_s[ahead] - row.played_s[behind]) / (
        row.written_s[ahead] - row.written_s[behind]
    )
    stretch: Floats = row.stretch * np.clip(local / row.stretch, 1 / MOST_LOCAL, MOST_LOCAL)
    return stretch


def _units(timeline: Timeline, notes: Sequence[int]) -> Floats:
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


def wrong_figures(
    timeline: Timeline, chances: Sequence[Chance], matched: Sequence[tuple[int, float]]
) -> tuple[Wrong, ...]:
    """Return the figures played wrongly, for ``matched`` pairs (index of note, seconds) in order."""
    notes = [note for note, _ in matched]
    if len(set(notes)) < POOLED_FROM:
        return ()
    row = row_of(timeline, notes, [time for _, time in matched])
    speeds = np.array([timeline.tempo.speed_at(timeline.notes[note].at) for note in notes])
    quarters_s = local_stretch(row) / speeds
    ranks = {note: rank for rank, note in enumerate(notes)}
    shapes = shapes_of(chances, ranks, quarters_s)
    if not len(shapes):
        return ()
    gains = filter_for(row, fit(row))
    pauses = [Chance("pause", (note,), ((note, ONE),), ONE) for note in notes]
    waits = weigh(shapes_of(pauses, ranks, quarters_s), gains)
    return tuple(_Search(row, gains, weigh(shapes, gains), waits, ranks).run())


class _Search:
    """One take being searched: what is left of it once the figures found are taken out."""

    def __init__(
        self, row: Row, gains: Filter, weighed: Weighed, waits: Weighed, ranks: dict[int, int]
    ) -> None:
        self.row = row
        self.gains = gains
        self.weighed = weighed
        self.waits = waits
        chances = weighed.shapes.chances
        self.least = np.array([chance.least for chance in chances])
        self.open = np.ones(len(chances), dtype=bool)
        self.reach = [
            (ranks[chance.notes[0]], ranks[chance.notes[-1]] + 2) if not chance.after else None
            for chance in chances
        ]

    def run(self) -> Iterator[Wrong]:
        while True:
            parts = self.gains.apply(self.row.played_s)
            share, evidence = self.weighed.meet(parts)
            limit = EVIDENCE * roughness(parts)
            allowed = self.open & (share > self.least) & (share < MOST_SHARE)
            allowed &= ~self._only_a_pause(parts, share, allowed)
            found = self._single(evidence, limit, allowed) or self._habit(share, limit)
            if not found:
                return
            for which in found:
                chance = self.weighed.shapes.chances[which]
                yield Wrong(chance, float(share[which]), float(evidence[which]), len(found) > 1)
                self._take_out(which, float(share[which]))

    def _only_a_pause(
        self, parts: Floats, share: Floats, asked: NDArray[np.bool_]
    ) -> NDArray[np.bool_]:
        """Return where waiting a little before one note explains the times better."""
        late, _ = self.waits.meet(parts)
        waited = self.waits.weight * np.maximum(late, 0) ** 2
        explained = self.weighed.weight * share**2
        out = np.zeros(len(share), dtype=bool)
        for which in np.flatnonzero(asked).tolist():
            reach = self.reach[which]
            if reach is not None:
                out[which] = waited[slice(*reach)].max() > PAUSE_ODDS * explained[which]
        return out

    def _single(self, evidence: Floats, limit: float, allowed: NDArray[np.bool_]) -> list[int]:
        allowed = allowed & (evidence > limit)
        return [int(np.argmax(np.where(allowed, evidence, -np.inf)))] if allowed.any() else []

    def _habit(self, share: Floats, limit: float) -> list[int]:
        """Return the members of the kind that is best supported by all its places together."""
        best: list[int] = []
        most = limit
        kinds: dict[str, list[int]] = {}
        for which in np.flatnonzero(self.open).tolist():
            kinds.setdefault(self.weighed.shapes.chances[which].what, []).append(which)
        for members in kinds.values():
            wrong = [which for which in members if HALF_WRONG < share[which] < MOST_SHARE]
            if len(wrong) < POOLED_FROM or 2 * len(wrong) <= len(members):
                continue
            weight = self.weighed.weight[members]
            bounded = np.clip(share[members], -1, MOST_SHARE)
            pooled = float(weight @ bounded / weight.sum())
            total = float(weight @ (bounded - HALF_WRONG))
            if pooled > self.least[members[0]] and total > most:
                most, best = total, wrong
        return best

    def _take_out(self, which: int, share: float) -> None:
        self.row = without(self.row, share * self.weighed.shapes.whole(which))
        notes = {note for note, _ in self.weighed.shapes.chances[which].moved}
        for other in np.flatnonzero(self.open).tolist():
            if notes & {note for note, _ in self.weighed.shapes.chances[other].moved}:
                self.open[other] = False
