"""Windows of a stream of sound, taken at places that hardly ever go back; nothing else is kept."""

from collections.abc import Iterable

import numpy as np

from rhythmtrain.render.mixer import Sound


class Windows:
    """Windows of a stream of blocks, taken at places that hardly ever go back."""

    def __init__(self, blocks: Iterable[Sound], size: int) -> None:
        """Take windows of ``size`` samples from ``blocks``, shape (n, channels)."""
        self._blocks = iter(blocks)
        self._size = size
        self._kept: Sound | None = None
        self._start = 0

    def around(self, place: int) -> Sound:
        """Return the window whose middle is sample ``place``, shape (channels, size)."""
        first = place - self._size // 2
        last = first + self._size
        kept = self._filled(last)
        # Windows a little earlier are still wanted after this one.
        spare = first - 2 * self._size - self._start
        if spare > self._size:
            self._kept = kept = kept[:, spare:]
            self._start += spare
        low, high = max(first - self._start, 0), max(last - self._start, 0)
        found = kept[:, low:high]
        missing = self._size - found.shape[1]
        if not missing:
            return found
        head = min(max(self._start - first, 0), missing) if first < self._start else 0
        return np.pad(found, ((0, 0), (head, missing - head)))

    def _filled(self, last: int) -> Sound:
        """Return what is kept, filled up to sample ``last`` as far as the stream goes."""
        while self._kept is None or self._start + self._kept.shape[1] < last:
            block = next(self._blocks, None)
            if block is None:
                break
            new = np.asarray(block, dtype=np.float32).T
            self._kept = new if self._kept is None else np.concatenate((self._kept, new), axis=1)
        if self._kept is None:
            self._kept = np.zeros((1, 0), dtype=np.float32)
        return self._kept
