"""How much of a loudspeaker is still there while it is taken out: what live onsets must stand out of.

In each band the share of the predicted bleed that is usually left is told from the last seconds: a
low percentile, where the bleed is loud, less the noise; claps only add to it.  Three times that
share of the bleed, held for some hundredths of a second, is added to the floor (as in
``bleed.past`` after the take).
"""

from collections import deque

import numpy as np

from rhythmtrain.hearing.bleed.gain import (
    LEAST_LEFT,
    LEFT_PERCENTILE,
    LOUD_PERCENTILE,
    MOST_LEFT,
    NOISE_FACTOR,
    NOISE_PERCENTILE,
)
from rhythmtrain.hearing.bleed.past import HELD_FRAMES, LIFT
from rhythmtrain.hearing.onsets.bands import Energies
from rhythmtrain.hearing.onsets.flux import Floor

AT_FIRST = 0.1
REMEMBERED, LEAST, RENEWED = 600, 60, 20


class LiveFloor:
    """Follows bleed and what is left of it, frame by frame, in the bands of a detector."""

    def __init__(self, bands: int) -> None:
        """Begin without a bleed in any of so many ``bands``."""
        self._bleed: deque[Energies] = deque(maxlen=REMEMBERED)
        self._left: deque[Energies] = deque(maxlen=REMEMBERED)
        self._share: Floor = np.full(bands, AT_FIRST, np.float32)
        self._nothing: Floor = np.zeros(bands, np.float32)
        self._since = 0

    def leftover(self, bleed: Energies | None, left: Energies) -> Floor:
        """Return what is expected to be left of ``bleed``, shape (bands,), in the frame of ``left``.

        None where no bleed is taken out.
        """
        if bleed is None:
            self._bleed.clear()
            self._left.clear()
            return self._nothing
        self._bleed.append(bleed)
        self._left.append(left)
        self._since += 1
        if self._since >= RENEWED and len(self._bleed) >= LEAST:
            self._share = self._shares()
            self._since = 0
        held = [self._bleed[-1 - back] for back in range(min(HELD_FRAMES, len(self._bleed)))]
        expected: Floor = self._share * np.max(held, axis=0)
        return expected

    def _shares(self) -> Floor:
        """Return the usual share of power that is left in each band."""
        bleed, left = np.array(self._bleed), np.array(self._left)
        loud = bleed >= np.percentile(bleed, LOUD_PERCENTILE, axis=0)
        noise = NOISE_FACTOR * np.percentile(left, NOISE_PERCENTILE, axis=0)
        shares = np.where(loud, (left - noise) / np.maximum(bleed, 1e-12), np.nan)
        usual = np.nanpercentile(shares, LEFT_PERCENTILE, axis=0)
        clipped: Floor = np.clip(usual, LEAST_LEFT, MOST_LEFT).astype(np.float32)
        return clipped


def lifted(floor: Floor, leftover: Floor) -> Floor:
    """Return ``floor`` raised by three times the ``leftover``."""
    raised: Floor = floor + np.float32(LIFT) * leftover
    return raised
