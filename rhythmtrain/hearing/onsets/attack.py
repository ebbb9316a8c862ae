"""The moment of an attack, found in the wave itself.

Around a rise in the bands the wave is told as energy in four bands and bins of a quarter
millisecond (``attack_bins``).  In each band the background before is Gaussian noise of one variance.
Two steps follow.

1. *Change point.*  The moment that best splits the bins into two variances, summed over the
   bands: the picker of Maeda (1985), "A method for reading and checking phase times".  A band
   without signal is flat there and has no say, so the band is chosen by what the sound is.
2. *Rise.*  Around it, every start and every rise time of a small table are tried for the
   amplitude ``0.05 + 0.95 * u / rise`` of a sound ``u`` seconds old: the start of the best one
   is the 5 % point even where noise hides it.  A rise is believed the less the slower it is (to
   the power -0.6: in noise a slow rise explains anything and begins too early; chosen on
   the sets of tests/simulate/scenes.py that are not held out and on recorded claps).  The width of
   the likelihood over the starts is the uncertainty.
"""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.attack_bins import (
    AFTER_S,
    BEFORE_S,
    BIN_S,
    band_bins,
    bin_samples,
)
from rhythmtrain.hearing.onsets.level import Mono

RISES_S = (0.00025, 0.0005, 0.001, 0.002, 0.004, 0.008, 0.016)
SETTLE = 24
SMOOTH = 8
NEAR = 48
CALM = 48
DIED_AWAY = 4.0
SLOW_PRIOR = 0.6
START_REACH = (20, 8)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Attack:
    """The attack near a flux peak.

    Attributes:
        time_s: The 5 % point, in seconds from the place that was asked about.
        uncertainty_s: Width of the likelihood (standard deviation).
        evidence: Log likelihood ratio of "something starts" over "nothing changes".
        strength_db: Energy after over energy before, in the band where it is highest.
    """

    time_s: float
    uncertainty_s: float
    evidence: float
    strength_db: float


def attack_near(segment: Mono, rate: int, *, missing: int = 0) -> Attack:
    """Return the attack in ``segment``, which reaches from 42 ms before a place to 36 ms after.

    The first ``missing`` samples lie before the recording; they are taken to be like its start,
    unless the place is so near that the recording may begin with the attack.
    """
    bins, weights = band_bins(segment, rate)
    width = bin_samples(rate) / rate
    here = round(BEFORE_S / width)
    gap = -(-missing // bin_samples(rate)) + 4
    if missing > 0 and gap < here - NEAR:
        bins[:, :gap] = bins[:, gap : gap + 24].mean(axis=1, keepdims=True)
    bins, here = bins[:, SETTLE:], here - SETTLE
    _calm_down(bins, here - 20)
    top = _first_summit(bins, weights, here)
    step, evidence = _change_point(bins[:, : top + 1], weights)
    start, spread = _rise(bins, weights, step, top)
    return Attack(
        (start + SETTLE) * width - BEFORE_S,
        max(spread, 0.5) * width,
        evidence,
        _strength(bins, weights, step, top),
    )


def _calm_down(bins: Array, stop: int) -> None:
    """Replace, in each band, what is left of an earlier sound by the level it dies away to."""
    total = np.cumsum(bins[:, :stop], axis=1)
    level = (total[:, CALM:] - total[:, :-CALM]) / CALM
    lowest = level.argmin(axis=1)
    for band, (row, last) in enumerate(zip(level, lowest, strict=True)):
        loud = np.flatnonzero(row[:last] > DIED_AWAY * row[last])
        if loud.size:
            bins[band, : loud[-1] + CALM // 2] = row[last]


def _first_summit(bins: Array, weights: Array, here: int) -> int:
    """Return the bin of the first summit within 6 dB of the highest soon after ``here``.

    Reverberation gathers after a clap and can top it; the first summit is the clap's own.
    """
    low = here - 40 - SMOOTH // 2
    quiet = bins[:, : max(low, CALM)].mean(axis=1)
    total = np.cumsum(bins, axis=1)
    smooth = (total[:, SMOOTH:] - total[:, :-SMOOTH]) / (SMOOTH * quiet[:, None])
    over = np.maximum(smooth, 1)
    size = weights @ (over - 1 - np.log(over))
    span = size[low : low + 160]
    first = int(np.argmax(span >= 0.25 * span.max()))
    return here - 40 + first + int(np.argmax(span[first : first + 12]))


def _change_point(bins: Array, weights: Array) -> tuple[int, float]:
    """Return the first bin after the change of variance, and the log likelihood ratio for it."""
    n = bins.shape[1] // 2
    pairs = bins[:, : 2 * n : 2] + bins[:, 1 : 2 * n : 2]
    k = np.arange(4, n - 1)
    total = np.cumsum(pairs, axis=1)
    before = total[:, 3:-2] / k
    after = (total[:, -1:] - total[:, 3:-2]) / (n - k)
    gain = n * np.log(total[:, -1:] / n) - k * np.log(before) - (n - k) * np.log(after)
    evidence = weights @ np.where(after > before, gain, 0)
    best = int(np.argmax(evidence))
    return 2 * int(k[best]), float(evidence[best])


def _strength(bins: Array, weights: Array, step: int, top: int) -> float:
    """Return the rise in dB from before ``step`` to ``top`` in the band that shows it best."""
    quiet = bins[:, : max(step - 4, 8)].mean(axis=1)
    ratio = bins[:, max(top - 4, 0) : top + 8].mean(axis=1) / quiet
    over = np.maximum(ratio, 1)
    best = int(np.argmax(weights * (over - 1 - np.log(over))))
    return 10 * float(np.log10(ratio[best]))


def _rise(bins: Array, weights: Array, change: int, top: int) -> tuple[float, float]:
    """Return the start of the best rise near ``change`` and the spread of the likelihood, in bins."""
    first = max(8, change - START_REACH[0])
    starts = np.arange(max(1, min(change + START_REACH[1], top) - first))
    quiet = bins[:, max(0, first - 80) : first].mean(axis=1)
    loud = np.maximum(bins[:, max(top - 4, 0) : top + 5].mean(axis=1), 1.05 * quiet)
    heard = bins[:, first : top + 1]
    span = heard.shape[1]
    variance = quiet[:, None, None] + (loud - quiet)[:, None, None] * _rising()[:, :span]
    logs = np.cumsum(np.log(variance), axis=2)[:, :, span - 1 - starts]
    later = np.zeros((len(bins), span + starts.size))
    later[:, :span] = heard
    row, step = later.strides
    shifted = np.lib.stride_tricks.as_strided(
        later, (len(bins), span, starts.size), (row, step, step), writeable=False
    )
    fits = logs + (1 / variance) @ shifted
    before = np.cumsum(heard, axis=1)[:, : starts.size] - heard[:, : starts.size]
    fits += (starts * np.log(quiet)[:, None] + before / quiet[:, None])[:, None]
    cost = 0.5 * weights[:, None, None] * fits + SLOW_PRIOR * np.log(RISES_S)[:, None]
    score = -cost.min(axis=1).sum(axis=0)
    share = np.exp(score - score.max())
    share /= share.sum()
    middle = float(share @ starts)
    return first + middle, float(np.sqrt(share @ (starts - middle) ** 2))


@lru_cache(maxsize=1)
def _rising() -> Array:
    """Return the energy of each rise of the table at every age, shape (rises, bins), 1 at its end."""
    age = np.arange(round((BEFORE_S + AFTER_S) / BIN_S) + 1) + 0.5
    rises = np.array(RISES_S)[:, None] / BIN_S
    amplitude: Array = np.minimum(1, 0.05 + 0.95 * age / rises)
    return amplitude**2
