"""Claps heard past a loudspeaker: onsets in what is left, told from what is left of the bleed.

Three things part the player from the crumbs of the bleed.

1. *Floor.*  To each band's floor three times the bleed that is expected to be left is added, held
   for some hundredths of a second, so that an onset must stand out of that as well.
2. *Excess.*  Each onset is told by the energy of its first 20 ms over what noise and leftover bleed
   give there.  Crumbs follow the leftover: they stand a few dB over it, claps stand clear of it.
   Near the start of something in the track more is asked, because there the bleed is worst known.
3. *Level.*  Claps of one player are alike: what lies 16 dB under the typical one is no clap.  The
   typical one must itself stand clear of noise and leftover, else nobody played.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d
from scipy.signal import butter, sosfilt

from rhythmtrain.hearing.bands import Energies, band_energies, bands_for, frame_centres
from rhythmtrain.hearing.delay import Sound
from rhythmtrain.hearing.kinds import kind_named
from rhythmtrain.hearing.onsets import Onset, OnsetFinder, own_strokes

LIFT = 3.0
HELD_FRAMES = 6
LOWEST_HZ = 500.0
CELL_S = 0.005
AFTER_CELLS = 4
NEAR_CELLS = 6
NOISE_PERCENTILE = 20
CLEAR_DB = 3.0
CLICK_DB = 4.0
CLICK_PERCENTILE = 25
RISE = 4.0
SOFTER_DB = 16.0
# One player's claps spread over some 6 dB (the players of tests/simulate/rooms.py).
SOFT_DB = 6.0
PLAIN_DB = 20.0
# Crumbs of the bleed alone reach 19 dB, the clearest claps 42 and more (measured on the first half
# of the takes of tests/simulate/rooms.py).
PLAYER_DB = 24.0
# What is left of a bleed stays softer than it, by 3 dB at least on the same takes.
OVER_BLEED_DB = 3.0
# Whatever stands so far over the leftover is played, also a single clap that is softer than the
# bleed: crumbs that are softer than it reach 25 dB.
NO_CRUMB_DB = 30.0
# So few plain claps say little of the usual one: the others must stand out about as far.
FEW = 4
LOUD_PERCENTILE = 75
TINY = 1e-14

Levels = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Past:
    """A recording without its loudspeaker: what is left, and how much bleed is still in it."""

    left: Sound
    bleed: Sound
    leftover: Sound
    rate: int


def onsets_past(past: Past, *, kind: str = "claps", aloud: bool = False) -> tuple[Onset, ...]:
    """Return what the player played, in order; nothing where nobody played.

    ``aloud`` is whether the player may count aloud meanwhile.

    Raises:
        TakeError: the recording is empty or silent.
        RequestError: an unknown kind.
    """
    finder = OnsetFinder(past.rate, kind=kind, aloud=aloud, lift=_Lift(past, kind))
    found = (*finder.feed(past.left), *finder.finish())
    if finder.candidates:
        clear = _clear([onset for onset, _ in finder.candidates], _told(past))
        among = [each for each, keep in zip(finder.candidates, clear, strict=True) if keep]
        found = tuple(own_strokes(among))
    return gated(found, past)


class _Lift:
    """The leftover bleed in the bands of the onset finder, frame by frame."""

    def __init__(self, past: Past, kind: str) -> None:
        self._rate = past.rate
        self._bands = bands_for(kind_named(kind), past.rate)
        self._sound = past.leftover

    def __call__(self, first: int, count: int) -> Energies:
        """Return what the floor is raised by in ``count`` frames from ``first``."""
        reach = self._bands.reach
        centres = frame_centres(first - HELD_FRAMES, count + HELD_FRAMES, self._rate)
        low, high = int(centres[0]) - reach, int(centres[-1]) + reach
        piece = np.zeros(high - low, np.float32)
        begin, end = max(low, 0), min(high, len(self._sound))
        if begin < end:
            piece[begin - low : end - low] = self._sound[begin:end]
        energies = band_energies(piece, centres - low, self._bands)
        held = maximum_filter1d(energies, 1 + HELD_FRAMES, axis=0, origin=HELD_FRAMES // 2)
        lifted: Energies = LIFT * held[HELD_FRAMES:]
        return lifted


def gated(found: Sequence[Onset], past: Past) -> tuple[Onset, ...]:
    """Return the onsets of ``found`` that are the player's."""
    if not found:
        return ()
    told = _told(past)
    cells = told.cells(found)
    heard = _soon(told.level, cells)
    excess_db = told.over_db(heard, cells)
    over_bleed_db = _db(heard / _near(told.bleed, cells))
    plain = (excess_db >= PLAIN_DB) & (over_bleed_db >= OVER_BLEED_DB) | (excess_db >= NO_CRUMB_DB)
    if not plain.any() or excess_db[plain].max() < PLAYER_DB:
        return ()
    typical_db = float(np.median(_db(heard[plain])))
    kept = _clear(found, told) & (_db(heard) >= typical_db - SOFTER_DB)
    if plain.sum() < FEW:
        kept &= excess_db >= excess_db[plain].max() - SOFTER_DB
    return tuple(each for each, keep in zip(found, kept, strict=True) if keep)


def _clear(found: Sequence[Onset], told: "_Told") -> NDArray[np.bool_]:
    """Return which onsets stand clear of noise and leftover, more so where something starts."""
    cells = told.cells(found)
    wanted_db = np.full(len(cells), CLEAR_DB)
    if told.starts.size:
        near = np.abs(cells[:, None] - told.starts[None, :]).min(axis=1) <= NEAR_CELLS
        wanted_db[near] = told.wanted_db()
    clear: NDArray[np.bool_] = told.over_db(_soon(told.level, cells), cells) >= wanted_db
    return clear


def hidden_s(played: Sequence[Onset], past: Past) -> tuple[float, ...]:
    """Return when the track was so loud that a clap may have gone unheard beside it.

    That is where a clap somewhat softer than the usual one of ``played`` would not have stood out
    of the raised floor, or of what the start of something leaves.  Seconds of the recording, in
    order, every 30 ms at the most; nothing where nobody played.
    """
    if not played:
        return ()
    told = _told(past)
    usual = float(np.median(_soon(told.level, told.cells(played))))
    every = np.arange(0, len(told.level), NEAR_CELLS)
    soft_db = told.over_db(np.full(1, usual * 10 ** (-SOFT_DB / 10)), every)
    hidden = set(every[soft_db < CLEAR_DB + 10 * np.log10(LIFT)].tolist())
    if told.starts.size:
        soft_db = told.over_db(np.full(1, usual * 10 ** (-SOFT_DB / 10)), told.starts)
        hidden |= set(told.starts[soft_db < told.wanted_db()].tolist())
    return tuple(cell * CELL_S for cell in sorted(hidden))


@dataclass(frozen=True, slots=True, eq=False)
class _Told:
    """Powers in cells of 5 ms, the usual noise, and the cells in which the bleed begins."""

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
        return _db(heard / (self.noise + _near(self.leftover, cells)))

    def wanted_db(self) -> float:
        """Return how far a clap on a start must stand out: over what starts alone leave there."""
        usual_db = self.over_db(_soon(self.level, self.starts), self.starts)
        return max(CLEAR_DB, float(np.percentile(usual_db, CLICK_PERCENTILE)) + CLICK_DB)


def _told(past: Past) -> _Told:
    level, leftover, bleed = (
        _powers(each, past.rate) for each in (past.left, past.leftover, past.bleed)
    )
    noise = float(np.percentile(level, NOISE_PERCENTILE))
    return _Told(level, leftover, bleed, noise, _starts(bleed))


def _powers(sound: Sound, rate: int) -> Levels:
    """Return the power of ``sound`` above 500 Hz in cells of 5 ms."""
    high = sosfilt(butter(2, LOWEST_HZ, "high", fs=rate, output="sos"), sound)
    edges = np.rint(np.arange(int(len(sound) / rate / CELL_S) + 1) * CELL_S * rate).astype(int)
    total = np.concatenate([[0.0], np.cumsum(np.square(high, dtype=np.float64))])
    powers: Levels = np.diff(total[np.minimum(edges, len(sound))]) / (CELL_S * rate)
    return powers + TINY if powers.size else np.full(1, TINY)


def _soon(power: Levels, cells: NDArray[np.int64]) -> Levels:
    """Return the highest power in the 20 ms from each cell on."""
    index = np.clip(cells[:, None] + np.arange(AFTER_CELLS + 1), 0, len(power) - 1)
    soon: Levels = power[index].max(axis=1)
    return soon


def _near(power: Levels, cells: NDArray[np.int64]) -> Levels:
    """Return the highest power from 20 ms before each cell to 20 ms after."""
    reach = np.arange(-AFTER_CELLS, AFTER_CELLS + 1)
    near: Levels = power[np.clip(cells[:, None] + reach, 0, len(power) - 1)].max(axis=1)
    return near


def _starts(power: Levels) -> NDArray[np.int64]:
    """Return the cells in which the bleed rises to something loud."""
    before = np.maximum.reduce([np.roll(power, each) for each in (2, 3, 4)])
    loud = power > np.percentile(power, LOUD_PERCENTILE)
    rising = np.flatnonzero(loud & (power > RISE * before))
    fresh = np.diff(rising, prepend=-NEAR_CELLS) > NEAR_CELLS
    starts: NDArray[np.int64] = rising[fresh]
    return starts


def _db(ratio: Levels) -> Levels:
    decibels: Levels = 10 * np.log10(np.maximum(ratio, TINY))
    return decibels
