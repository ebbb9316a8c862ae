"""For and against: did the player clap a row, or try the rhythm and miss much of it?

Only places tell that belong to one of the two alone.  Where the rhythm has a note and the row none, a
clap speaks for the rhythm and silence for the row; where the row has a place and the rhythm rests
or holds, the other way round.  Each place counts with its log-likelihood ratio: somebody who claps
the row claps nine places in ten and one in twenty beside them; an attempt at the rhythm may be so
weak that it misses four notes in ten and claps at one place in five too many, and is still one.
In long rests silence tells nothing: whoever claps the beat may stop there too.

The rhythm is given every chance: it may lie anywhere under the claps that it covers most of, at any
half or third of a beat, and what speaks for it most is what counts.
"""

from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Places = NDArray[np.intp]

TICKS = 5040  # a quarter; every place one can write falls on one, or near enough
ROW_CLAPS, ROW_STRAYS = 0.90, 0.05
WEAK_CLAPS, WEAK_STRAYS = 0.60, 0.20
NOTE_CLAPPED = log(ROW_STRAYS / WEAK_CLAPS)
NOTE_SILENT = log((1 - ROW_STRAYS) / (1 - WEAK_CLAPS))
ROW_CLAPPED = log(ROW_CLAPS / WEAK_STRAYS)
ROW_SILENT = log((1 - ROW_CLAPS) / (1 - WEAK_STRAYS))
# So much of what was clapped the rhythm must lie under, to be an explanation of it.
LEAST_COVERED = 0.75


@dataclass(frozen=True, slots=True)
class Laid:
    """Claps and a row under them, in ticks.

    A clap stands for a place within ``near`` of it, and lies on the row within ``on_row``;
    ``bar`` is the longest bar, ``span`` from where to where the passage goes, ``step`` by how much
    it may be moved.
    """

    claps: Ints
    row: Ints
    near: int
    on_row: int
    bar: int
    span: tuple[int, int]
    step: int

    @property
    def share_on_row(self) -> float:
        """Return the share of the claps that lie on the row."""
        away = np.abs(self.claps - self.row[self.nearest])
        return float(np.mean(away <= self.on_row))

    @property
    def nearest(self) -> Places:
        """Return the index of the row's place nearest to each clap."""
        return _nearest(self.row, self.claps)


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for the row (positive), and what it stands on.

    ``of_row`` is the share of the row's places that were clapped, ``agreed`` the share of the
    places that tell at which the player did what the row asks.
    """

    odds: float
    of_row: float
    agreed: float


def ticks(quarters: Floats) -> Ints:
    """Return places in ticks."""
    return np.rint(quarters * TICKS).astype(np.int64)


def evidence(laid: Laid, notes: Ints) -> Evidence | None:
    """Return what speaks for the row where the rhythm lies at ``notes``; None: no place lies there."""
    low, high = laid.claps[0] - laid.near, laid.claps[-1] + laid.near
    places = np.union1d(notes, laid.row)
    places = places[np.searchsorted(places, low) : np.searchsorted(places, high, side="right")]
    if not len(places):
        return None
    nearest = _nearest(places, laid.claps)
    close = np.abs(laid.claps - places[nearest]) <= laid.near
    hit = np.zeros(len(places), dtype=np.bool_)
    hit[nearest[close]] = True
    is_note, in_row = np.isin(places, notes), np.isin(places, laid.row)
    told = hit | (np.abs(places - notes[_nearest(notes, places)]) <= laid.bar)
    alone, resting = is_note & ~in_row, in_row & ~is_note & told
    odds = (
        NOTE_CLAPPED * np.sum(alone & hit)
        + NOTE_SILENT * np.sum(alone & ~hit)
        + ROW_CLAPPED * np.sum(resting & hit)
        + ROW_SILENT * np.sum(resting & ~hit)
    )
    return Evidence(
        float(odds),
        _share(hit, in_row & told),
        _share(hit == in_row, alone | resting),
    )


def least_evidence(laid: Laid, notes: Ints) -> Evidence | None:
    """Return what speaks for the row where the rhythm explains the claps best; None: nowhere."""
    low, high = int(laid.claps[0]), int(laid.claps[-1])
    begin, end = laid.span
    need = int(LEAST_COVERED * (high - low))
    first, last = low + need - end, high - need - begin
    shifts = range(-(-first // laid.step) * laid.step, last + 1, laid.step)
    found = [each for by in shifts if (each := evidence(laid, notes + by)) is not None]
    return min(found, key=lambda each: each.odds, default=None)


def _share(right: Bools, among: Bools) -> float:
    return float(np.mean(right[among])) if among.any() else 1.0


def _nearest(places: Ints, times: Ints) -> Places:
    """Return the index of the nearest of ``places``, in order, to each time."""
    after = np.clip(np.searchsorted(places, times), 0, len(places) - 1)
    before = np.maximum(after - 1, 0)
    return np.where(times - places[before] <= places[after] - times, before, after)
