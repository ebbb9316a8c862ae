"""What a clap is worth at a written time, beside a note or beside none, and what a jump there costs.

Everything a path through origins (see ``following``) asks of the passage is read off once, on a fine grid
of written time, so that a take of thousands of claps asks a table and not the notes.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.matching.matching import windows_s
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MISSED_COST = 0.40
FINE_S = 0.005
EXTRA_COST = 0.30
JUMP_TO_START = 2.5
JUMP_TO_BAR = 4.0
JUMP_INSIDE = 5.5


@dataclass(frozen=True, slots=True)
class Worth:
    """What a clap is ``worth`` at a written time, on a fine grid from ``begin_s``.

    ``passed`` is how many notes it has passed: with the one it stands for, whether it comes a little
    before or after it.  ``jump`` is what beginning there costs.
    """

    begin_s: float
    worth: NDArray[np.float32]
    passed: NDArray[np.float32]
    jump: NDArray[np.float32]

    def at(self, times_s: Floats) -> Ints:
        """Return the grid indices of written times, kept inside the table."""
        index = np.rint((times_s - self.begin_s) / FINE_S).astype(np.intp)
        return np.clip(index, 0, len(self.worth) - 1)


def worth_of(written: Written) -> Worth:
    """Return the worth of every written time."""
    times = written.times_s
    widths = windows_s(times)
    begin, end = times[0] - 1.0, times[-1] + 1.0
    grid = np.arange(begin, end, FINE_S)
    after = np.clip(np.searchsorted(times, grid), 0, len(times) - 1)
    before = np.maximum(after - 1, 0)
    nearest = np.where(grid - times[before] < times[after] - grid, before, after)
    reward = 1 - np.abs(grid - times[nearest]) / widths[nearest]
    worth = np.where(reward > 0, reward + MISSED_COST, -EXTRA_COST)
    outside = (grid < times[0] - widths[0]) | (grid > times[-1] + widths[-1])
    worth[outside] = -EXTRA_COST
    cost = np.where(written.opens, JUMP_TO_BAR, JUMP_INSIDE)
    cost[0] = JUMP_TO_START
    jump = np.where(reward > 0, cost[nearest], np.inf)
    passed = np.where(reward > 0, nearest + 1, np.searchsorted(times, grid, side="right"))
    return Worth(
        float(begin),
        worth.astype(np.float32),
        passed.astype(np.float32),
        jump.astype(np.float32),
    )
