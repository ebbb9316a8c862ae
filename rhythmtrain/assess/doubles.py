"""Double triggers: one clap heard twice.

A hand that bounces, a key that chatters or an echo gives a second onset 30 to 80 ms after the
first.  The second is left out, unless notes so close together are written.
"""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

SHORTEST_S = 0.030
LONGEST_S = 0.080
SHARE_OF_WRITTEN = 0.35


def single(played_s: Floats, shortest_written_s: float) -> Bools:
    """Return True for every onset that stands for a clap of its own.

    ``shortest_written_s`` is the shortest interval between written notes, in seconds: nothing
    closer than 35 % of it, within 30 to 80 ms, can be meant.
    """
    limit = float(np.clip(SHARE_OF_WRITTEN * shortest_written_s, SHORTEST_S, LONGEST_S))
    keep = np.ones(len(played_s), dtype=np.bool_)
    last = -np.inf
    close = np.flatnonzero(np.diff(played_s) < limit) + 1
    for number in close.tolist():
        last = played_s[number - 1] if keep[number - 1] else last
        keep[number] = played_s[number] - last >= limit
    return keep
