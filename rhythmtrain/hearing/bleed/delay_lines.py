"""The line of delays along which the windows of a correlation add up.

Two quartz clocks drift apart evenly, so the delay grows along a straight line: the windows are summed
along every slope that clocks can differ by, then along finer ones, and last the line is laid through
the peaks of the windows themselves.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, rfft

from rhythmtrain.hearing.bleed.correlation import WINDOW_S, Likeness, Real, Rows

MOST_A_WINDOW = 6.0
STEEPEST = 700e-6
POOL_S = 0.00025
FINER = 8
BESIDE_S = 0.001
LEAST_ERROR_S = 0.00005
FITS = 8


@dataclass(frozen=True, slots=True)
class Line:
    """The delay at second 0 of the track, what it grows by each second, and their standard errors."""

    delay_s: float
    slope: float
    error_s: float
    slope_error: float


def best_line(seen: Likeness) -> tuple[float, float]:
    """Return (delay in seconds at time 0, slope) of the line along which the pooled rows add up."""
    pool = max(1, round(POOL_S * seen.rate))
    count = seen.rows.shape[1] // pool
    pooled = seen.rows[:, : count * pool].reshape(len(seen.rows), count, pool).max(axis=2)
    power = np.maximum(levelled(pooled), 0).astype(np.float64) ** 2
    cell_s = pool / seen.rate
    span_s = float(np.ptp(seen.middles_s)) + WINDOW_S
    middle_s = float(seen.middles_s.mean())
    best = (-1.0, 0.0, 0.0)
    steps = max(1, round(STEEPEST * span_s / cell_s))
    for slope in np.linspace(-STEEPEST, STEEPEST, 2 * steps + 1):
        shifts = np.rint((seen.middles_s - middle_s) * slope / cell_s).astype(int)
        total = summed(power, shifts)
        at = int(np.argmax(total))
        if total[at] > best[0]:
            best = (float(total[at]), at * cell_s + cell_s / 2, float(slope))
    return best[1] - best[2] * middle_s, best[2]


def summed(rows: Real, shifts: NDArray[np.int64]) -> Rows:
    """Return the sum of rows, each read ``shift`` cells later; outside there is nothing."""
    total = np.zeros(rows.shape[1])
    for row, shift in zip(rows, shifts.tolist(), strict=True):
        if shift >= 0:
            total[: len(total) - shift] += row[shift:]
        else:
            total[-shift:] += row[:shift]
    return total


def levelled(rows: Real) -> Real:
    """Return ``rows`` with none higher than two windows' worth: one clap on one click is no track."""
    highest = np.maximum(rows.max(axis=1, keepdims=True), 2 * MOST_A_WINDOW)
    level: Real = rows * (2 * MOST_A_WINDOW / highest)
    return level


def refined(seen: Likeness, delay_s: float, slope: float) -> tuple[float, float]:
    """Return the line near one given to a pool's width along which the rows themselves add up."""
    middle_s = float(seen.middles_s.mean())
    span_s = float(np.ptp(seen.middles_s)) + WINDOW_S
    centre_s = delay_s + slope * middle_s
    width = 2 * POOL_S / span_s
    slopes = slope + np.linspace(-width, width, 65)
    near, offsets_s = _near(seen, centre_s + slope * (seen.middles_s - middle_s))
    best = (-np.inf, centre_s, slope)
    step_s = offsets_s[1] - offsets_s[0]
    for each in slopes:
        shifts = np.rint((seen.middles_s - middle_s) * (each - slope) / step_s).astype(int)
        total = summed(near, shifts)
        at = int(np.argmax(total))
        if total[at] > best[0]:
            best = (float(total[at]), centre_s + float(offsets_s[at]), float(each))
    return best[1] - best[2] * middle_s, best[2]


def _near(seen: Likeness, lines_s: Rows) -> tuple[Rows, Rows]:
    """Return each row within a millisecond of its own lag, eight times finer, and the offsets."""
    reach = round(BESIDE_S * seen.rate)
    guard = 16
    whole = np.rint(lines_s * seen.rate).astype(int)
    padded = np.pad(seen.rows, ((0, 0), (reach + guard, reach + guard)))
    index = np.clip(whole, 0, seen.rows.shape[1] - 1)[:, None] + np.arange(2 * (reach + guard) + 1)
    cut = np.take_along_axis(padded, index, axis=1).astype(np.float64)
    size = cut.shape[1]
    spectrum = rfft(cut, axis=1) * FINER
    turn = np.arange(spectrum.shape[1]) / size
    spectrum *= np.exp(2j * np.pi * turn * (lines_s * seen.rate - index[:, 0])[:, None])
    fine = irfft(spectrum, size * FINER, axis=1)[:, guard * FINER : (size - guard) * FINER]
    offsets = np.arange(fine.shape[1]) / FINER - reach
    return fine, offsets / seen.rate


def fitted(seen: Likeness, delay_s: float, slope: float) -> Line:
    """Return the straight line through the peaks of the windows, outliers set aside."""
    near, offsets_s = _near(seen, delay_s + slope * seen.middles_s)
    middle = len(offsets_s) // 2
    reach = round(0.00015 * seen.rate * FINER)
    around = near[:, middle - reach : middle + reach + 1]
    tops = around.argmax(axis=1)
    heights = np.maximum(around.max(axis=1), 1e-6)
    away_s = offsets_s[middle - reach + tops]
    inside = (tops > 0) & (tops < around.shape[1] - 1)
    weights = np.where(inside, heights**2, 0.0)
    line, errors = robust_line(seen.middles_s, away_s, weights)
    return Line(
        delay_s + line[0],
        slope + line[1],
        float(np.hypot(LEAST_ERROR_S, errors[0])),
        errors[1],
    )


def robust_line(
    at_s: Rows, values: Rows, weights: Rows
) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return (start, slope) of the line through weighted values, and the errors of both."""
    if np.count_nonzero(weights) < 4:  # noqa: PLR2004  (a line and two to check it)
        return (0.0, 0.0), (BESIDE_S, STEEPEST)
    grid = np.column_stack([np.ones(len(at_s)), at_s])
    used: Rows = weights
    left: Real = values
    solution: Real = np.zeros(2)
    normal: Real = np.eye(2)
    for _ in range(FITS):
        normal = grid.T @ (used[:, None] * grid)
        solution = np.linalg.lstsq(normal, grid.T @ (used * values), rcond=None)[0]
        left = values - grid @ solution
        scale = max(1.4826 * float(np.median(np.abs(left[weights > 0]))), 1e-7)
        used = np.asarray(weights / (1 + (left / (2 * scale)) ** 2) ** 2, np.float64)
    variance = float(used @ left**2 / max(used.sum(), 1e-12))
    count = max(float(used.sum() ** 2 / max((used**2).sum(), 1e-12)) - 2, 1.0)
    spread = np.linalg.pinv(normal / used.sum()) * variance / count
    errors = np.sqrt(np.maximum(np.diag(spread), 0))
    return (float(solution[0]), float(solution[1])), (float(errors[0]), float(errors[1]))
