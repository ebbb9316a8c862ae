"""What is wrong with a recording before anyone plays to it: cut tops, a dead channel.

A converter or a loud mix that ran out of room leaves *flat tops*: several samples in a row at the
very largest value.  Music hardly ever has them by chance: a sine of 1 kHz at 44.1 kHz stays within a
thousandth of its top for one sample.  A channel is dead that is 60 dB softer than the other.
"""

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

Sound = NDArray[np.float32]

NEAR_TOP = 0.999
FULL = 0.25
FLAT = 4
# Flat tops a second from which one hears it; single ones are made by limiters and lossy codecs.
MANY_A_SECOND = 2.0
DEAD = 1e-6
STEREO = 2


class FaultFinder:
    """Looks at a recording block by block, arrays of shape ``(n, channels)``."""

    def __init__(self, rate: int) -> None:
        """Begin with nothing seen, at ``rate`` samples a second."""
        self._rate = rate
        self._frames = 0
        self._largest = 0.0
        self._tops: list[tuple[float, int]] = []
        self._powers: NDArray[np.float64] | None = None

    def take(self, block: Sound) -> None:
        """Look at the next block."""
        self._frames += len(block)
        power = (block.astype(np.float64) ** 2).sum(axis=0)
        self._powers = power if self._powers is None else self._powers + power
        size = np.abs(block)
        top = float(size.max(initial=0.0))
        self._largest = max(self._largest, top)
        if top >= FULL:
            self._tops.append((top, _flat_tops(size, top)))

    @property
    def flat_tops(self) -> int:
        """Return how often several samples in a row stood at the largest value of all."""
        return sum(count for top, count in self._tops if top >= NEAR_TOP * self._largest)

    @property
    def clipped(self) -> bool:
        """Return whether its loudest places are cut off, often enough to be heard."""
        return self.flat_tops > MANY_A_SECOND * self._frames / self._rate

    @property
    def dead(self) -> str:
        """Return which of two channels is dead, "left" or "right", or ""."""
        if self._powers is None or len(self._powers) != STEREO or not self._powers.any():
            return ""
        left, right = self._powers
        if left <= DEAD * right:
            return "left"
        return "right" if right <= DEAD * left else ""


def faults_in(blocks: Iterable[Sound], rate: int) -> FaultFinder:
    """Return what is wrong with the sound in ``blocks``."""
    finder = FaultFinder(rate)
    for block in blocks:
        finder.take(block)
    return finder


def _flat_tops(size: Sound, top: float) -> int:
    """Return how often at least ``FLAT`` samples in a row are at ``top``, in any channel."""
    found = 0
    for channel in size.T:
        at = np.concatenate(([False], channel >= NEAR_TOP * top, [False]))
        edges = np.flatnonzero(at[1:] != at[:-1])
        found += int(np.count_nonzero(edges[1::2] - edges[::2] >= FLAT))
    return found
