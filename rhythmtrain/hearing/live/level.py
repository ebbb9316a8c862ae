"""How loud a loudspeaker may be at the microphone just now, while nothing else is known of its way.

The track is known, and about how late it is heard.  In cells of 10 ms its power is held for as long
as a room rings, and a little before, for a delay that is only about right; by how much the
microphone is louder than that is told by the cells in which the track is loud: an upper quartile,
because a player who claps is louder than that only now and then, and one with headphones far
softer nearly always.  What stands clear of it is not the loudspeaker.
"""

from collections import deque

import numpy as np

from rhythmtrain.hearing.onsets.level import Mono

CELL_S = 0.01
EARLY_CELLS = 6
FALL_DB = 1.2
LOUD_DB, SILENT_DB = 25.0, -80.0
REMEMBERED, LEAST = 1500, 60
PERCENTILE = 75
KEPT = 400
TINY = 1e-12


class LiveLevels:
    """Follows track and microphone, block by block."""

    def __init__(self, rate: int, delay_s: float) -> None:
        """Begin with a track that is heard ``delay_s`` later."""
        self._track, self._heard = _Cells(rate), _Cells(rate)
        self._late = round(delay_s / CELL_S)
        self._held: deque[float] = deque(maxlen=KEPT)
        self._first = 0
        self._gains: deque[float] = deque(maxlen=REMEMBERED)
        self._highest_db = SILENT_DB

    def play(self, block: Mono) -> None:
        """Take what is played next, shape (n,)."""
        self._track.add(block)

    def hear(self, block: Mono) -> None:
        """Take what is heard next, shape (n,)."""
        for level_db in self._heard.levels(block):
            held_db = self._hold()
            self._highest_db = max(self._highest_db, held_db)
            if held_db > max(self._highest_db - LOUD_DB, SILENT_DB):
                self._gains.append(level_db - held_db)

    def most_db(self, time_s: float) -> float:
        """Return how loud the loudspeaker usually is at most at ``time_s`` of the recording.

        Infinite where it sounds and too little was heard to tell.
        """
        at = min(int(time_s / CELL_S) - self._first, len(self._held) - 1)
        held_db = max(list(self._held)[max(at - 1, 0) : at + 3], default=SILENT_DB)
        if held_db <= SILENT_DB:
            return -np.inf
        if len(self._gains) < LEAST:
            return np.inf
        return held_db + float(np.percentile(self._gains, PERCENTILE))

    def _hold(self) -> float:
        """Return the held level of the track in the next cell of the recording."""
        cell = self._first + len(self._held)
        loudest_db = self._track.loudest_db(cell - self._late + EARLY_CELLS)
        held = max(loudest_db, self._held[-1] - FALL_DB if self._held else SILENT_DB)
        if len(self._held) == KEPT:
            self._first += 1
        self._held.append(held)
        return held


class _Cells:
    """The level of a stream in cells of 10 ms, in dB."""

    def __init__(self, rate: int) -> None:
        self._step = round(CELL_S * rate)
        self._rest: Mono = np.zeros(0, np.float32)
        self._coming: deque[float] = deque()
        self._first = 0

    def add(self, block: Mono) -> None:
        """Keep the levels of the cells that are full with ``block``."""
        self._coming.extend(self.levels(block))

    def levels(self, block: Mono) -> list[float]:
        """Return the levels of the cells that are full with ``block``."""
        sound = np.concatenate([self._rest, block])
        count = len(sound) // self._step
        self._rest = sound[count * self._step :]
        cells = sound[: count * self._step].reshape(count, self._step)
        power = np.square(cells, dtype=np.float64).mean(axis=1)
        levels: list[float] = (10 * np.log10(power + TINY)).tolist()
        return levels

    def loudest_db(self, cell: int) -> float:
        """Return the loudest of the cells up to ``cell`` that were not asked for, as far as known."""
        loudest = SILENT_DB
        while self._coming and self._first <= cell:
            loudest = max(loudest, self._coming.popleft())
            self._first += 1
        return loudest
