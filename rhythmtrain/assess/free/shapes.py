"""The shapes of wrong figures, filtered: how much of each is in a take, and how sure that is.

For a shape d and a take y,

    f = d'Qy / d'Qd            the share of the wrong figure that is there (0: none, 1: all of it)
    LLR = d'Qd · (f - 1/2)     log likelihood of "all of it" against "none of it"

Q is the precision of the player's time (see ``walk``).  A shape is zero before its first
moved note and dies away in the filter soon after its last, so each is kept in a window of
``WINDOW`` notes, and thousands are filtered at once.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.assess.free.walk import Filter, Floats

WINDOW = 48


@dataclass(frozen=True, slots=True)
class Shapes:
    """Shapes of ``chances`` over a row of n matched notes.

    ``first`` (k,) is the rank of the first note each moves; ``moves_s`` (k, WINDOW) the seconds
    by which notes from there on are displaced, and ``after_s`` (k,) those beyond the window.
    """

    chances: tuple[Chance, ...]
    first: NDArray[np.int64]
    moves_s: Floats
    after_s: Floats
    size: int

    def __len__(self) -> int:
        """Return how many shapes there are."""
        return len(self.chances)

    def whole(self, which: int) -> Floats:
        """Return shape ``which`` over the whole row, shape (n,), in seconds."""
        shape = np.zeros(self.size)
        begin = int(self.first[which])
        stop = min(begin + WINDOW, self.size)
        shape[begin:stop] = self.moves_s[which, : stop - begin]
        shape[stop:] = self.after_s[which]
        return shape


@dataclass(frozen=True, slots=True)
class Weighed:
    """Filtered shapes (k, WINDOW) with their weight d'Qd (k,), ready to meet a take."""

    shapes: Shapes
    filtered: Floats
    weight: Floats

    def meet(self, parts: Floats) -> tuple[Floats, Floats]:
        """Return (f, LLR), each (k,), for a take whose filtered times are ``parts``, (n,)."""
        places = self.shapes.first[:, None] + np.arange(WINDOW)
        padded = np.append(parts, np.zeros(WINDOW))
        product = np.einsum("kw,kw->k", self.filtered, padded[places])
        share: Floats = product / self.weight
        return share, self.weight * (share - 0.5)


def shapes_of(
    chances: Sequence[Chance], ranks: Mapping[int, int], seconds_a_quarter: Floats
) -> Shapes:
    """Return the shapes of those ``chances`` whose moved notes were all played.

    Args:
        chances: where figures can go wrong, by index of note.
        ranks: the place in the row of every note that was matched.
        seconds_a_quarter: how long a quarter lasted at each note of the row, shape (n,).
    """
    size = len(seconds_a_quarter)
    kept = [chance for chance in chances if all(note in ranks for note in chance.notes)]
    first = np.array([ranks[chance.moved[0][0]] for chance in kept], dtype=np.int64)
    moves = np.zeros((len(kept), WINDOW))
    after = np.zeros(len(kept))
    for row, chance in enumerate(kept):
        begin = int(first[row])
        quarter = float(seconds_a_quarter[begin])
        after[row] = float(chance.after) * quarter
        moves[row, : size - begin] = after[row]
        for note, by in chance.moved:
            place = ranks[note] - begin
            if place < WINDOW:
                moves[row, place] = float(by) * quarter
    return Shapes(tuple(kept), first, moves, after, size)


def weigh(shapes: Shapes, gains: Filter) -> Weighed:
    """Return ``shapes`` filtered by ``gains``."""
    count = len(shapes)
    out = np.zeros((count, WINDOW))
    place, tempo = np.zeros(count), np.zeros(count)
    for column in range(WINDOW):
        here = np.minimum(shapes.first + column, shapes.size - 1)
        inside = shapes.first + column < shapes.size
        place += tempo * gains.steps_s[here]
        left = np.where(inside, shapes.moves_s[:, column] - place, 0.0)
        out[:, column] = left / gains.scale[here]
        place += gains.place_gain[here] * left
        tempo += gains.tempo_gain[here] * left
    weight = np.maximum(np.einsum("kw,kw->k", out, out), 1e-9)
    return Weighed(shapes, out, weight)
