"""Two shortest paths between the frames of a recording and of the written notes.

``framed_path`` counts every frame of the recording exactly once, so that paths which leave out
more or less of the ends can be compared; ``banded_path`` is dynamic time warping (Sakoe & Chiba
1978) in a band around a path already known, with a penalty on steps that are not diagonal, which
keeps it from lingering.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Frames = NDArray[np.float32]
Indices = NDArray[np.int64]
NEVER = 1e9
ROUNDING = 1e-9
# For each frame by which a banded path begins or ends beside its centres.  Without it the first and
# last chords collapse onto a moment, up to a second out.
EDGE_PRICE = 0.25
DIAGONAL, STAYING, LINGERING = 0, 1, 2


def framed_path(cost: Frames, *, outside: float, penalty: float) -> Indices:
    """Return the pairs (recorded, written), shape (n, 2), of the cheapest path.

    ``cost`` has shape (recorded, written).  A recorded frame before the first pair or after the
    last costs ``outside``; from one recorded frame to the next the written frame moves by 0, 1 or
    2, where 0 and 2 cost ``penalty``.  All written frames are passed.
    """
    recorded, written = cost.shape
    total = np.full(written, NEVER)
    came = np.zeros((recorded, written), np.int8)
    ends = np.empty(recorded)
    for frame in range(recorded):
        before = outside * frame
        moved = np.concatenate(([before], total[:-1]))
        leapt = np.concatenate(([NEVER, NEVER], total[:-2]))[:written]
        choices = np.stack((total + penalty, moved, leapt + penalty))
        came[frame] = choices.argmin(axis=0)
        total = np.min(choices, axis=0) + cost[frame]
        ends[frame] = total[-1] + outside * (recorded - 1 - frame)
    return _walked_back(came, int(ends.argmin()))


def _walked_back(came: NDArray[np.int8], last: int) -> Indices:
    pairs = []
    frame, place = last, came.shape[1] - 1
    while frame >= 0:
        pairs.append((frame, place))
        step = int(came[frame, place])
        if place == 0 and step == 1:
            break
        place -= step
        frame -= 1
    return np.array(pairs[::-1], dtype=np.int64)


def banded_path(
    heard: Frames, written: Frames, centres: Indices, *, half: int, penalty: float
) -> Indices:
    """Return the pairs (written, recorded) of the cheapest path within ``half`` of ``centres``.

    ``heard`` and ``written`` are unit frames of equal width; ``centres`` names the recorded frame
    around which each written frame is looked for.
    """
    width = 2 * half + 1
    offsets = np.arange(width) - half
    came = np.zeros((len(written), width), np.int8)
    total = np.zeros(width)
    for row, centre in enumerate(centres.tolist()):
        places = centre + offsets
        inside = (places >= 0) & (places < len(heard))
        cost = 1.0 - heard[np.clip(places, 0, len(heard) - 1)] @ written[row]
        cost = np.where(inside, cost, 5.0)
        if row:
            shift = centre - int(centres[row - 1])
            total = _step(total, cost, shift, penalty, came[row])
        else:
            total = cost + EDGE_PRICE * np.abs(offsets)
    last = int((total + EDGE_PRICE * np.abs(offsets)).argmin())
    return _band_walked_back(came, centres, half, last)


def _step(
    total: Floats, cost: Floats, shift: int, penalty: float, came: NDArray[np.int8]
) -> Floats:
    """Return the totals of the next row; writes into ``came`` how each was reached."""
    padded = np.concatenate(([NEVER] * (total.size + 1), total, [NEVER] * (total.size + 1)))
    start = min(max(total.size + 1 + shift, 1), 2 * total.size + 1)
    diagonal = padded[start - 1 : start - 1 + total.size] + cost
    staying = padded[start : start + total.size] + cost + penalty
    best = np.minimum(diagonal, staying)
    # Lingering on this row: the least of any earlier place and all it costs to go on from there.
    along = np.cumsum(cost + penalty)
    lingering = np.minimum.accumulate(best - along) + along
    came[:] = np.where(diagonal <= staying, DIAGONAL, STAYING)
    came[lingering < best - ROUNDING] = LINGERING
    return np.minimum(best, lingering)


def _band_walked_back(came: NDArray[np.int8], centres: Indices, half: int, last: int) -> Indices:
    pairs = []
    row, place = len(came) - 1, last
    while True:
        pairs.append((row, int(centres[row]) - half + place))
        how = came[row, place]
        if how == LINGERING and place > 0:
            place -= 1
            continue
        if row == 0:
            break
        place += int(centres[row] - centres[row - 1]) - (1 if how == DIAGONAL else 0)
        place = min(max(place, 0), came.shape[1] - 1)
        row -= 1
    return np.array(pairs[::-1], dtype=np.int64)
