"""The last of a long sound: added to at its end, forgotten at its start."""

import numpy as np

from rhythmtrain.hearing.bleed.correlation import Sound

SMALLEST = 1024


class Tail:
    """The last of a long sound, by frames counted from its start."""

    def __init__(self, first: int = 0) -> None:
        """Begin with nothing, at frame ``first``."""
        self.first = first
        self._room: Sound = np.zeros(SMALLEST, np.float32)
        self._begin = self._end = 0

    @property
    def sound(self) -> Sound:
        """Return what is kept, shape (n,), as it lies there: it is good until the next ``add``."""
        return self._room[self._begin : self._end]

    @property
    def stop(self) -> int:
        """Return the frame after the last."""
        return self.first + self._end - self._begin

    def add(self, block: Sound) -> None:
        """Add ``block`` at the end."""
        count = len(block)
        if self._end + count > len(self._room):
            kept = self.sound
            room = np.zeros(max(len(self._room), 2 * (len(kept) + count)), np.float32)
            room[: len(kept)] = kept
            self._room, self._begin, self._end = room, 0, len(kept)
        self._room[self._end : self._end + count] = block
        self._end += count

    def forget(self, before: int, *, at_once: int = 1) -> None:
        """Drop what lies ``before`` a frame, once it is so much."""
        gone = min(before, self.stop) - self.first
        if gone >= at_once:
            self._begin += gone
            self.first += gone
