"""Many sounds that may be strokes, as arrays: what is asked of all at once."""

from collections.abc import Sequence
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.strokes import STEEPEST_DB, UPPER, Stroke

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Sounds:
    """Many strokes at once, as in ``Stroke``: shape (strokes, bands); ``under_db`` (strokes,)."""

    gain_db: Array
    before_db: Array
    fall_db: Array
    later_db: Array
    under_db: Array

    @property
    def rise_db(self) -> Array:
        """Return by how much each band rises, 0 to 30 dB."""
        rise: Array = 10 * np.log10(1 + 10 ** ((self.gain_db - self.before_db) / 10))
        return np.clip(rise, 0, STEEPEST_DB)

    def only(self, places: Sequence[int]) -> "Sounds":
        """Return those at ``places``."""
        rows = list(places)
        return Sounds(*(getattr(self, each.name)[rows] for each in fields(self)))

    @property
    def upper_db(self) -> Array:
        """Return the energy added above 1 kHz, shape (strokes,)."""
        return summed(self.gain_db[:, UPPER:])


def stacked(strokes: Sequence[Stroke]) -> Sounds:
    """Return ``strokes``, at least one, as arrays; falls are limited to what a small room allows."""
    return Sounds(
        np.array([each.gain_db for each in strokes]),
        np.array([each.before_db for each in strokes]),
        np.clip([each.fall_db for each in strokes], -10, 25),
        np.clip([each.later_db for each in strokes], -10, 35),
        np.clip([each.under_db for each in strokes], 0, 20),
    )


def summed(levels_db: Array) -> Array:
    """Return the level of all bands together, in dB, shape (sounds,)."""
    total: Array = 10 * np.log10((10 ** (levels_db / 10)).sum(axis=1))
    return total
