"""Telling wrong rhythm from free tempo: which figures were played as other figures.

The best-supported wrong figure is accepted and taken out of the take, then the next, until none
is left: f more than its least share and LLR more than 4, times the roughness of the take, so that
an uneven player is told less (f and LLR: ``shapes``).  A figure that comes four times or more
is also judged by its kind, all places together, which finds a habit too small to see in one place.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.assess.free.shapes import Weighed, shapes_of, weigh
from rhythmtrain.assess.free.walk import Filter, Floats, Row, roughness, without

EVIDENCE = 4.0
# Beyond this share it is something else than the figure named.
MOST_SHARE = 1.6
POOLED_FROM = 4
FEWEST_NOTES = 4
# All places of a kind together must show this many times the evidence that one place must.
POOL_DOUBT = 2.0
HALF_WRONG = 0.5
# A wait before one note is taken for expression when it explains this much of what a figure does.
PAUSE_ODDS = 1.0
ONE = Fraction(1)


@dataclass(frozen=True, slots=True)
class Wrong:
    """A figure found wrong: its chance, how much of it is there, and the evidence (LLR).

    ``pooled`` is True where it was found by its kind and not by itself.
    """

    chance: Chance
    share: float
    evidence: float
    pooled: bool = False


@dataclass(frozen=True, slots=True)
class Searched:
    """What a search found: the ``wrong`` figures, most certain first, and what is left.

    ``left`` is the row as it would have been without them; ``moved_s`` (n,) is by how much each
    note is displaced in its figure (what moves everything after it is not counted there).
    """

    wrong: tuple[Wrong, ...]
    left: Row
    moved_s: Floats


def search(
    chances: Sequence[Chance], notes: Sequence[int], row: Row, gains: Filter, quarters_s: Floats
) -> Searched:
    """Return the wrong figures found in ``row``.

    Args:
        chances: where figures can go wrong.
        notes: the index of each note of the row.
        row: the notes as played.
        gains: the filter that makes their times independent.
        quarters_s: how long a quarter lasted at each note, shape (n,).
    """
    ranks = {note: rank for rank, note in enumerate(notes)}
    shapes = shapes_of(chances, ranks, quarters_s)
    if not len(shapes):
        return Searched((), row, np.zeros(len(row)))
    pauses = [Chance("pause", (note,), ((note, ONE),), ONE) for note in notes]
    waits = weigh(shapes_of(pauses, ranks, quarters_s), gains)
    running = _Search(row, gains, weigh(shapes, gains), waits, ranks)
    return Searched(tuple(running.run()), running.row, running.moved_s)


class _Search:
    """One take being searched: what is left of it once the figures found are taken out."""

    def __init__(
        self, row: Row, gains: Filter, weighed: Weighed, waits: Weighed, ranks: dict[int, int]
    ) -> None:
        self.row = row
        self.moved_s = np.zeros(len(row))
        self.gains = gains
        self.weighed = weighed
        self.waits = waits
        chances = weighed.shapes.chances
        self.least = np.array([chance.least for chance in chances])
        self.doubt = np.array([chance.doubt for chance in chances])
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
            found = self._single(evidence, limit, allowed) or self._habit(parts, share, limit)
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
        allowed = allowed & (evidence > limit * self.doubt)
        return [int(np.argmax(np.where(allowed, evidence, -np.inf)))] if allowed.any() else []

    def _habit(self, parts: Floats, share: Floats, limit: float) -> list[int]:
        """Return the members of the kind that is best supported by all its places together."""
        best: list[int] = []
        most = limit * POOL_DOUBT
        kinds: dict[str, list[int]] = {}
        for which in np.flatnonzero(self.open).tolist():
            kinds.setdefault(self.weighed.shapes.chances[which].what, []).append(which)
        for members in kinds.values():
            wrong = [which for which in members if HALF_WRONG / 2 < share[which] < MOST_SHARE]
            if len(wrong) < POOLED_FROM or 2 * len(wrong) <= len(members):
                continue
            together = self.gains.apply(
                np.sum([self.weighed.shapes.whole(which) for which in members], axis=0)
            )
            weight = float(together @ together)
            pooled = float(together @ parts) / weight
            total = weight * (pooled - HALF_WRONG)
            if self.least[members[0]] < pooled < MOST_SHARE and total > most:
                most, best = total, wrong
        return best

    def _take_out(self, which: int, share: float) -> None:
        shape = share * self.weighed.shapes.whole(which)
        self.row = without(self.row, shape)
        self.moved_s += 0.0 if self.weighed.shapes.chances[which].after else shape
        notes = {note for note, _ in self.weighed.shapes.chances[which].moved}
        for other in np.flatnonzero(self.open).tolist():
            if notes & {note for note, _ in self.weighed.shapes.chances[other].moved}:
                self.open[other] = False
