"""Where a stream of sound stood still, or leapt, though nobody told of it.

A sound server on a busy machine may hold a stream up for a second and report nothing lost.  From
there on every frame sounds later than the clock's line says, and an honest player would seem early
by as much.  Among the points of that line (``clock``) this is a step: all that lie before it are on
one level, all that lie after it on another.  Buffers that fill early, or a group of late stamps,
are no step, because the level comes back.
"""

import numpy as np
from numpy.typing import NDArray

STEP_S = 0.03
ALIKE = 3.0
BESIDE = 3
LEAST_AFTER = 2


def steps(late_s: NDArray[np.float64]) -> tuple[tuple[int, int], ...]:
    """Return each step in ``late_s`` (seconds, a row of points) as (last before, first after).

    Between the two lies one point at most, which belongs to neither level.  A step is at least
    ``STEP_S`` high and ``ALIKE`` times as high as its levels are uneven.
    """
    found: list[tuple[int, int]] = []
    begin = 0
    for last in range(BESIDE - 1, len(late_s)):
        if last - begin + 1 < BESIDE:
            continue
        if _is_step(late_s, last, last + 1):
            begin = last + 1
        elif _is_step(late_s, last, last + 2) and not _is_step(late_s, last + 1, last + 2):
            begin = last + 2
        else:
            continue
        found.append((last, begin))
    return tuple(found)


def _is_step(late_s: NDArray[np.float64], last: int, first: int) -> bool:
    """Tell whether the points up to ``last`` and those from ``first`` on lie on two levels."""
    before, after = late_s[last + 1 - BESIDE : last + 1], late_s[first : first + BESIDE]
    if len(after) < LEAST_AFTER:
        return False
    height = abs(float(np.median(after) - np.median(before)))
    uneven = max(float(np.ptp(before)), float(np.ptp(after)))
    return height >= max(STEP_S, ALIKE * uneven)
