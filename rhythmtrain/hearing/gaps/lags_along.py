"""How late the track is, second by second: where a recording leaves its line, sound was lost.

A few windows together tell a lag where one stands out of all others.  The correlations are taken
minute by minute and pooled at once, so that an hour needs no more of them than a minute.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.bleed.correlation import APART_S, LATEST_S, Sound, likeness

POOL_S = 0.0005
POOLED, STANDS_OUT = 3, 1.5
BLOCK_S = 60


def lags_along(heard: Sound, track: Sound, rate: int, *, later: int) -> list[tuple[float, float]]:
    """Return (time, lag) in seconds where a lag stands out, in order; none in too short a take.

    Lags are counted as if ``heard``, shape (n,), came ``later`` samples later than it does.
    """
    cells, middles_s = _pooled(heard, track, rate, later)
    if len(cells) < 2 * POOLED:
        return []
    pool_s = max(1, round(POOL_S * rate)) / rate
    power = np.square(np.maximum(cells, 0))
    sums = np.lib.stride_tricks.sliding_window_view(power, POOLED, axis=0).sum(axis=2)
    at = sums.argmax(axis=1)
    away = np.abs(np.arange(cells.shape[1])[None, :] - at[:, None]) > round(APART_S / POOL_S)
    sure = sums.max(axis=1) > STANDS_OUT * np.where(away, sums, 0).max(axis=1)
    middles_s = middles_s[POOLED // 2 :][: len(at)]
    return [(float(middles_s[k]), float(at[k]) * pool_s) for k in np.flatnonzero(sure)]


def _pooled(
    heard: Sound, track: Sound, rate: int, later: int
) -> tuple[NDArray[np.float32], NDArray[np.float64]]:
    """Return the highest likeness in each cell of half a millisecond, (windows, cells), and when."""
    pool, latest = max(1, round(POOL_S * rate)), round(LATEST_S * rate)
    count = latest // pool
    block, total = BLOCK_S * rate, max(min(len(heard) + later, len(track)), 0)
    firsts = list(range(0, max(total - block, 1), block))
    cells = [np.zeros((0, count), np.float32)]
    middles_s = [np.zeros(0)]
    for first, stop in zip(firsts, [*firsts[1:], total], strict=True):
        part = _part(heard, first - later, stop - later + latest)
        seen = likeness(part, track[first:stop], rate, first=first)
        rows = seen.rows[:, : count * pool].reshape(len(seen.rows), count, pool)
        cells.append(rows.max(axis=2))
        middles_s.append(seen.middles_s)
    return np.concatenate(cells), np.concatenate(middles_s)


def _part(sound: Sound, first: int, stop: int) -> Sound:
    """Return ``sound`` from frame ``first`` to ``stop``, with silence before its frame 0."""
    part = sound[max(first, 0) : max(stop, 0)]
    return part if first >= 0 else np.concatenate([np.zeros(-first, np.float32), part])
