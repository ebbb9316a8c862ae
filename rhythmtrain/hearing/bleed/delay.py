"""How late a track is heard in a recording made while it played.

The whitened cross-correlation of the two, over 300 to 8000 Hz, peaks at the delay: every frequency
counts alike, so a room that rings and a loudspeaker that booms do not move the peak (Knapp and
Carter 1976, the phase transform).  It is taken in windows of one second, and the windows are summed
along every slope that two quartz clocks can differ by (``skew``).  The peak is believed only when
it stands 9 times over the rms of the rest, and when no other place comes near it: a track of clicks
alone comes round too evenly, so words or tones belong in it.  A player with headphones who claps
what the track claps is like it too, at the player's own lateness, but bluntly: hand strokes are
milliseconds long and uneven, and there are few of them.  So the peak must also be in many windows,
or stand sharply over the milliseconds before it, where no room has an answer yet.

The delay holds everything on the way: output, 2.9 ms of air a metre, input.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft

LOW_HZ, HIGH_HZ = 300.0, 8000.0
LEAST_PEAK = 9.0
LATEST_S = 1.0
LEAST_S = 1.0
LONGEST_S = 60.0
WINDOW_S = 1.0
MOST_A_WINDOW = 6.0
ALONE = 0.75
MOST_EVEN = 0.28
LEAST_SUPPORT, STANDS_OUT, LEAST_WINDOWS = 0.6, 6.0, 6
FEWEST_WINDOWS = 3
# How sharp a peak must be (over what lies before it) that is in so many of the windows: claps alone
# beside a track that claps the same reach 4.7 in 0.56 of them and, once in 240 takes of eight
# seconds, 6.3 in fewer (development seeds, four kinds of hand strokes, players even to 6 ms); a
# loudspeaker at -12 dB and above is in half of them and 6.0 sharp, or in 0.6 and more; one at -24 dB
# is 7 sharp (102 takes of the half "tune" of tests/simulate/rooms.py).
SHARP = ((0.6, 0.0), (0.42, 5.2), (0.0, 6.6))
BEFORE_S, CLEAR_S = 0.008, 0.001
APART_S = 0.015
STEEPEST = 700e-6
POOL_S = 0.00025
FINER = 8
BESIDE_S = 0.001
LEAST_ERROR_S = 0.00005
SILENT_RMS = 1e-5
FITS = 8

UNHEARD = "the track is not heard clearly enough in the recording"
EVEN = "the track comes round too evenly to tell one beat from the next"
SHORT = "there is too little sound to compare"
BRIEF = "the track is heard, but too briefly to tell how late"

Sound = NDArray[np.float32]
Rows = NDArray[np.float64]
Real = NDArray[np.floating]


@dataclass(frozen=True, slots=True)
class SoundDelay:
    """How late the track is heard, and how that grows.

    Attributes:
        delay_s: The delay of the track's frame 0, in seconds (positive: heard later).
        error_s: Standard error of ``delay_s``.
        peak: How far the peak stood over the rms of the rest.
        skew_ppm: Millionths by which the delay grows with track time.
        skew_error_ppm: Standard error of ``skew_ppm``.
        refused: Why it is not to be believed; empty where it is.
    """

    delay_s: float
    error_s: float
    peak: float
    skew_ppm: float = 0.0
    skew_error_ppm: float = 0.0
    refused: str = ""

    def track_s(self, heard_s: float) -> float:
        """Return which second of the track is heard at ``heard_s`` of the recording."""
        return (heard_s - self.delay_s) / (1 + self.skew_ppm * 1e-6)


@dataclass(frozen=True, slots=True, eq=False)
class Likeness:
    """Whitened correlations, shape (windows, lags), each of rms 1, and where they were taken."""

    rows: NDArray[np.float32]
    middles_s: Rows
    rate: int


def sound_delay(heard: Sound, track: Sound, rate: int) -> SoundDelay | None:
    """Return how late ``track``, shape (m,), is in ``heard``, shape (n,), or None when unsure.

    Both begin at the same frame.  Delays from 0 to one second are looked for, in the first minute.
    """
    found = measured_delay(heard, track, rate)
    return None if found.refused else found


def measured_delay(heard: Sound, track: Sound, rate: int) -> SoundDelay:
    """Return the best delay of ``track`` in ``heard``, with the reason where it is not accepted."""
    longest = round(LONGEST_S * rate)
    seen = likeness(heard[:longest], track[:longest], rate)
    if not len(seen.rows):
        return SoundDelay(0.0, LATEST_S, 0.0, refused=SHORT)
    found = _along(seen, _best_line(seen))
    if not found.refused and evenness(track[:longest], rate) > MOST_EVEN:
        return replace(found, refused=EVEN)
    return found


def delay_near(
    heard: Sound, track: Sound, rate: int, *, expected_s: float, within_s: float
) -> SoundDelay:
    """Return the best delay of ``track`` in ``heard`` no more than ``within_s`` from another.

    A track that comes round evenly does not mislead so near a delay that is known: it is refused
    only where the track is not heard.
    """
    longest = round(LONGEST_S * rate)
    seen = likeness(heard[:longest], track[:longest], rate)
    if not len(seen.rows):
        return SoundDelay(0.0, LATEST_S, 0.0, refused=SHORT)
    lags_s = np.arange(seen.rows.shape[1]) / rate
    drifted_s = STEEPEST * seen.middles_s[:, None]
    inside = np.abs(lags_s - expected_s) <= within_s + drifted_s
    near = replace(seen, rows=np.where(inside, seen.rows, np.float32(0)))
    found = _along(seen, _best_line(near))
    return replace(found, refused="") if found.refused == EVEN else found


def evenness(track: Sound, rate: int) -> float:
    """Return how like itself ``track`` is at its best other lag, as a share of lag 0.

    Spoken words give 0.01 to 0.04, a tune up to 0.17, clicks alone 0.3 to 0.6 (measured on the
    tracks of tests/simulate/rooms.py).
    """
    own = likeness(track, track, rate).rows.sum(axis=0)
    if not own.any():
        return 1.0
    return float(own[round(APART_S * rate) :].max() / own[0])


def likeness(heard: Sound, track: Sound, rate: int, *, first: int = 0) -> Likeness:
    """Return how alike ``track`` and ``heard`` are at each lag from 0 to one second, by window.

    Windows in which either is silent are left out.  ``first`` is the frame at which both begin.
    """
    rows, middles = [], []
    length = round(WINDOW_S * rate)
    for place in _starts(min(len(heard), len(track)), length):
        row = _row(heard[place:], track[place : place + length], rate)
        if row is not None:
            rows.append(row)
            middles.append((first + place) / rate + WINDOW_S / 2)
    lags = round(LATEST_S * rate)
    return Likeness(np.array(rows, np.float32).reshape(-1, lags), np.array(middles), rate)


def _starts(total: int, length: int) -> Iterator[int]:
    """Yield where windows begin: half overlapping in short recordings, else end to end."""
    step = length // 2 if total < 12 * length else length
    yield from range(0, total - length + 1, step)


def _row(heard: Sound, track: Sound, rate: int) -> NDArray[np.float32] | None:
    """Return the whitened correlation of one window, or None where there is nothing to compare."""
    lags = round(LATEST_S * rate)
    heard = heard[: len(track) + lags]
    if np.sqrt(np.mean(track**2)) < SILENT_RMS or np.sqrt(np.mean(heard**2)) < SILENT_RMS:
        return None
    size = next_fast_len(len(track) + lags, real=True)
    cross = rfft(heard, size) * np.conj(rfft(track, size))
    hertz = np.arange(len(cross)) * (rate / size)
    strength = np.abs(cross)
    cross[(hertz < LOW_HZ) | (hertz > HIGH_HZ) | (strength == 0)] = 0
    cross /= np.maximum(strength, np.finfo(np.float32).tiny)
    row: NDArray[np.float32] = irfft(cross, size)[:lags].astype(np.float32)
    return row / max(float(np.sqrt(np.mean(row**2))), SILENT_RMS)


def _best_line(seen: Likeness) -> tuple[float, float]:
    """Return (delay in seconds at time 0, slope) of the line along which the pooled rows add up."""
    pool = max(1, round(POOL_S * seen.rate))
    count = seen.rows.shape[1] // pool
    pooled = seen.rows[:, : count * pool].reshape(len(seen.rows), count, pool).max(axis=2)
    power = np.maximum(_levelled(pooled), 0).astype(np.float64) ** 2
    cell_s = pool / seen.rate
    span_s = float(np.ptp(seen.middles_s)) + WINDOW_S
    middle_s = float(seen.middles_s.mean())
    best = (-1.0, 0.0, 0.0)
    steps = max(1, round(STEEPEST * span_s / cell_s))
    for slope in np.linspace(-STEEPEST, STEEPEST, 2 * steps + 1):
        shifts = np.rint((seen.middles_s - middle_s) * slope / cell_s).astype(int)
        total = _summed(power, shifts)
        at = int(np.argmax(total))
        if total[at] > best[0]:
            best = (float(total[at]), at * cell_s + cell_s / 2, float(slope))
    return best[1] - best[2] * middle_s, best[2]


def _summed(rows: Real, shifts: NDArray[np.int64]) -> Rows:
    """Return the sum of rows, each read ``shift`` cells later; outside there is nothing."""
    total = np.zeros(rows.shape[1])
    for row, shift in zip(rows, shifts.tolist(), strict=True):
        if shift >= 0:
            total[: len(total) - shift] += row[shift:]
        else:
            total[-shift:] += row[:shift]
    return total


def _along(seen: Likeness, line: tuple[float, float]) -> SoundDelay:
    """Return the delay near ``line``, made as fine as the windows allow, or refused."""
    delay_s, slope = _refined(seen, *line)
    shifts = np.rint(seen.middles_s * slope * seen.rate).astype(int)
    total = _summed(np.minimum(seen.rows, MOST_A_WINDOW), shifts)
    rms = 1.4826 * float(np.median(np.abs(total)))
    at = round(delay_s * seen.rate)
    near = total[max(0, at - 2) : at + 3]
    peak = float(near.max()) / rms if rms and near.size else 0.0
    found = _fitted(seen, delay_s, slope)
    found = replace(found, peak=peak)
    support = _support(seen, delay_s, slope)
    unheard = BRIEF if _in_all(seen, support) else UNHEARD
    if peak < LEAST_PEAK and support < LEAST_SUPPORT:
        return replace(found, refused=unheard)
    sharp = next(least for share, least in SHARP if support >= share)
    if _sharpness(total, at, seen.rate) < sharp:
        return replace(found, refused=unheard)
    total = _summed(_levelled(seen.rows), shifts)
    top = total[max(0, at - 2) : at + 3].max()
    apart = round(APART_S * seen.rate)
    total[max(0, at - apart) : at + apart] = 0
    return replace(found, refused=EVEN) if total.max() > ALONE * top else found


def _support(seen: Likeness, delay_s: float, slope: float) -> float:
    """Return the share of at least six windows that stand out along the line by themselves."""
    places = np.rint((delay_s + slope * seen.middles_s) * seen.rate).astype(int)
    index = np.clip(places[:, None] + np.arange(-2, 3), 0, seen.rows.shape[1] - 1)
    alone = np.take_along_axis(seen.rows, index, axis=1).max(axis=1) > STANDS_OUT
    return float(alone.sum()) / max(len(alone), LEAST_WINDOWS)


def _in_all(seen: Likeness, support: float) -> bool:
    """Return whether each of few windows stands out by itself, as beside a loudspeaker.

    In none of 30 takes of 2 s of claps with headphones they did (half "tune" of
    tests/simulate/rooms.py).
    """
    return FEWEST_WINDOWS <= len(seen.rows) <= round(support * LEAST_WINDOWS)


def _sharpness(total: Rows, at: int, rate: int) -> float:
    """Return how far the peak at ``at`` stands over what lies just before it.

    At a delay of less than a millisecond nothing lies before it, and all of it is sharp.
    """
    peak = float(total[max(0, at - 2) : at + 3].max(initial=0.0))
    before = total[max(0, at - round(BEFORE_S * rate)) : max(0, at - round(CLEAR_S * rate))]
    rest = 1.4826 * float(np.median(np.abs(before))) if before.size else 0.0
    return peak / rest if rest else np.inf


def _levelled(rows: Real) -> Real:
    """Return ``rows`` with none higher than two windows' worth: one clap on one click is no track."""
    highest = np.maximum(rows.max(axis=1, keepdims=True), 2 * MOST_A_WINDOW)
    level: Real = rows * (2 * MOST_A_WINDOW / highest)
    return level


def _refined(seen: Likeness, delay_s: float, slope: float) -> tuple[float, float]:
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
        total = _summed(near, shifts)
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


def _fitted(seen: Likeness, delay_s: float, slope: float) -> SoundDelay:
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
    return SoundDelay(
        delay_s + line[0],
        float(np.hypot(LEAST_ERROR_S, errors[0])),
        0.0,
        1e6 * (slope + line[1]),
        1e6 * errors[1],
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
