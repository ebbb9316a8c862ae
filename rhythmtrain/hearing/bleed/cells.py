"""How loud player, leftover and bleed are above 500 Hz, in cells of 5 ms, stretch after stretch.

A minute of a take is three rows of 12 000 cells: what is asked about a whole take at its end (who
played, how loud the usual clap is, where the loudspeaker hid one) is asked of these.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, sosfilt

from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.onsets.onset import Onset

LOWEST_HZ = 500.0
CELL_S = 0.005
AFTER_CELLS = 4
NEAR_CELLS = 6
NOISE_PERCENTILE = 20
CLEAR_DB = 3.0
CLICK_DB = 4.0
CLICK_PERCENTILE = 25
RISE = 4.0
LOUD_PERCENTILE = 75
TINY = 1e-14

Levels = NDArray[np.float64]


class Powers:
    """The power of a stream of sound in cells; the stretches may have any length."""

    def __init__(self, rate: int) -> None:
        """Begin with nothing heard, at ``rate`` samples a second."""
        self._rate = rate
        self._sections = butter(2, LOWEST_HZ, "high", fs=rate, output="sos")
        self._state = np.zeros((len(self._sections), 2))
        self._open = np.zeros(0)
        self._cells: list[Levels] = []
        self._count = 0

    def feed(self, sound: Sound) -> None:
        """Hear the next stretch, shape (n,)."""
        high, self._state = sosfilt(self._sections, sound, zi=self._state)
        squares = np.concatenate([self._open, np.square(high, dtype=np.float64)])
        begin = self._edge(self._count)
        whole = int((begin + len(squares)) / (CELL_S * self._rate)) - self._count
        edges = self._edges(whole + 1)
        if edges[-1] - begin > len(squares):
            edges = edges[:-1]
        total = np.concatenate([[0.0], np.cumsum(squares)])
        self._cells.append(np.diff(total[edges - begin]) / (CELL_S * self._rate) + TINY)
        self._count += len(edges) - 1
        self._open = squares[edges[-1] - begin :]

    @property
    def cells(self) -> Levels:
        """Return the power of each whole cell that was heard; one of silence where there is none."""
        return np.concatenate(self._cells) if self._count else np.full(1, TINY)

    def _edge(self, cell: int) -> int:
        return round(cell * (CELL_S * self._rate))

    def _edges(self, count: int) -> NDArray[np.int64]:
        """Return the first samples of ``count`` cells from the one that is open."""
        places = np.rint((self._count + np.arange(count)) * (CELL_S * self._rate))
        edges: NDArray[np.int64] = places.astype(np.int64)
        return edges


@dataclass(frozen=True, slots=True, eq=False)
class Told:
    """Powers in cells of what is left, of the leftover and of the bleed.

    Attributes:
        level: What is left when the bleed is out: the player, the noise, crumbs.
        leftover: About how much of the bleed is still in it.
        bleed: What was taken out.
        noise: The usual power where nothing sounds.
        starts: The cells in which the bleed rises to something loud.
    """

    level: Levels
    leftover: Levels
    bleed: Levels
    noise: float
    starts: NDArray[np.int64]

    def cells(self, found: Sequence[Onset]) -> NDArray[np.int64]:
        """Return the cell of each onset."""
        return np.array([min(int(each.time_s / CELL_S), len(self.level) - 1) for each in found])

    def over_db(self, heard: Levels, cells: NDArray[np.int64]) -> Levels:
        """Return how far ``heard`` stands over noise and leftover at ``cells``."""
        return decibels(heard / (self.noise + near(self.leftover, cells)))

    def over_bleed_db(self, heard: Levels, cells: NDArray[np.int64]) -> Levels:
        """Return how far ``heard`` stands over the bleed that was taken out at ``cells``."""
        return decibels(heard / near(self.bleed, cells))

    def near_starts(self, cells: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Return which of ``cells`` lie within 30 ms of a start."""
        after = np.searchsorted(self.starts, cells - NEAR_CELLS)
        until = np.searchsorted(self.starts, cells + NEAR_CELLS, side="right")
        close: NDArray[np.bool_] = until > after
        return close

    def wanted_db(self) -> float:
        """Return how far a clap on a start must stand out: over what starts alone leave there."""
        usual_db = self.over_db(soon(self.level, self.starts), self.starts)
        return max(CLEAR_DB, float(np.percentile(usual_db, CLICK_PERCENTILE)) + CLICK_DB)


def told_of(level: Levels, leftover: Levels, bleed: Levels) -> Told:
    """Return what three rows of cells tell, all of shape (cells,)."""
    noise = float(np.percentile(level, NOISE_PERCENTILE))
    return Told(level, leftover, bleed, noise, _starts(bleed))


def soon(power: Levels, cells: NDArray[np.int64]) -> Levels:
    """Return the highest power in the 20 ms from each cell on."""
    index = np.clip(cells[:, None] + np.arange(AFTER_CELLS + 1), 0, len(power) - 1)
    highest: Levels = power[index].max(axis=1)
    return highest


def near(power: Levels, cells: NDArray[np.int64]) -> Levels:
    """Return the highest power from 20 ms before each cell to 20 ms after."""
    reach = np.arange(-AFTER_CELLS, AFTER_CELLS + 1)
    highest: Levels = power[np.clip(cells[:, None] + reach, 0, len(power) - 1)].max(axis=1)
    return highest


def decibels(ratio: Levels) -> Levels:
    """Return ``ratio`` of powers in dB."""
    told: Levels = 10 * np.log10(np.maximum(ratio, TINY))
    return told


def _starts(power: Levels) -> NDArray[np.int64]:
    """Return the cells in which the bleed rises to something loud."""
    before = np.maximum.reduce([np.roll(power, each) for each in (2, 3, 4)])
    loud = power > np.percentile(power, LOUD_PERCENTILE)
    rising = np.flatnonzero(loud & (power > RISE * before))
    fresh = np.diff(rising, prepend=-NEAR_CELLS) > NEAR_CELLS
    starts: NDArray[np.int64] = rising[fresh]
    return starts
