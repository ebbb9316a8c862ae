"""Where energy rises: log band flux over a noise floor of each band's own.

Each band's energy is told in dB over its floor, with everything below the floor pressed flat, so
that noise contributes little and a band that has none, much.  The flux of a frame is the mean over
the bands of the rise since ``lag`` frames ago, where the earlier spectrum first takes its maximum
over neighbouring bands, so that a vibrato does not count as a new note (Böck & Widmer 2013,
"Maximum filter vibrato suppression for onset detection").

The floor of a band in one page (half a second) is a low percentile of its energy there, and then
the lowest of the pages around: it follows a room that grows louder and is not lifted by playing.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.bands import Energies
from rhythmtrain.hearing.onsets.kinds import Kind

FLOOR_SHARE = 0.3
LOW_NORMAL = 0.5244
FLOOR_MARGIN = 4.0
SILENT_POWER = 1e-9
PEAK_REACH = 4

Floor = NDArray[np.float32]
Flux = NDArray[np.float32]


def floor_factor(bins: NDArray[np.int64]) -> Floor:
    """Return the mean of noise over its low percentile, for bands that sum ``bins``.

    Such energies follow a chi-squared law of twice as many degrees; its percentiles by the cube
    of a normal one (Wilson & Hilferty 1931).
    """
    spread = 1 / (9 * bins.astype(np.float64))
    factor: Floor = (1 / (1 - spread - LOW_NORMAL * np.sqrt(spread)) ** 3).astype(np.float32)
    return factor


def page_floor(energies: Energies, factor: Floor) -> Floor:
    """Return the noise floor, shape (bands,), heard in one page of ``energies``."""
    rank = int(FLOOR_SHARE * (len(energies) - 1))
    low = np.partition(energies, rank, axis=0)[rank]
    floor: Floor = np.maximum(np.float32(SILENT_POWER), factor * low)
    return floor


def band_flux(energies: Energies, floor: Floor, kind: Kind, weights: Floor) -> Flux:
    """Return the rise in dB of each frame after the first ``kind.lag``, weighted over the bands."""
    level = 10 * np.log10(1 + energies * (1 / (FLOOR_MARGIN * floor)))
    before = level[: -kind.lag]
    widest = before
    for shift in range(1, kind.spread + 1):
        widest = widest.copy()
        widest[:, shift:] = np.maximum(widest[:, shift:], before[:, :-shift])
        widest[:, :-shift] = np.maximum(widest[:, :-shift], before[:, shift:])
    flux: Flux = np.maximum(0, level[kind.lag :] - widest) @ weights
    return flux


def excess(energies: Energies, floor: Floor) -> Flux:
    """Return how much energy each frame has over the floor, bands below it counting nothing."""
    over: Flux = np.maximum(0, energies - FLOOR_MARGIN * floor).sum(axis=1)
    return over


def least_excess(loudest: list[float], kind: Kind) -> float:
    """Return the excess an onset must reach where pages around it have these ``loudest`` frames.

    The second loudest page speaks for what is played: one slammed door does not.
    """
    return sorted(loudest)[-2:][0] * 10 ** (-kind.softest_db / 10)


def usual_flux(around: Flux) -> tuple[float, float]:
    """Return the median of ``around`` and its spread: 1.4826 times the median deviation."""
    middle = _median(around)
    return middle, 1.4826 * _median(np.abs(around - middle))


def least_flux(usual: tuple[float, float], highest: float, kind: Kind) -> float:
    """Return the flux an onset must reach where ``usual`` is the median and spread around it.

    ``highest`` is the highest flux of a wider neighbourhood.
    """
    middle, spread = usual
    return max(kind.least_flux_db, kind.share * highest, middle + kind.mads * spread)


def peaks(flux: Flux, threshold: float) -> NDArray[np.int64]:
    """Return the frames, at least 4 from either end, that top their neighbours and ``threshold``.

    Of equal neighbours the first counts.
    """
    high = np.flatnonzero(flux[PEAK_REACH:-PEAK_REACH] >= threshold)
    tops = [i for i in high if flux[i : i + 2 * PEAK_REACH + 1].argmax() == PEAK_REACH]
    return np.array(tops, dtype=np.int64) + PEAK_REACH


def _median(values: Flux) -> float:
    """Return the upper median; np.median costs five times as much on short arrays."""
    rank = len(values) // 2
    return float(np.partition(values, rank)[rank])
