"""How long sustained notes sound, where a recording lets that be heard.

A blown, bowed or sung note that is stopped falls off within a tenth of a second or two, even in a
room with some echo; one that dies away takes longer, and then nobody can say where it ended.  So
an end is told only where the level falls steeply to half way (in dB) between the note and the
stillness around it, and stays there.  A note that leads on to the next has no end of its own (and
what was taken for the next may be a swell of the same note), and where note and stillness are too
near each other none can be told.

All levels are in dB of the power in steps of 10 ms.  The thresholds were chosen on the seeds of
tests/hearing/test_held.py below 100 and are held to account on those above.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.level import Mono

STEP_S = 0.01
BEGIN_S, SUSTAIN_S = 0.05, 0.35
SHORTEST_S = 0.1
STAYS_S = 0.08
STEEP_DB, STEEP_S = 8.0, 0.12
LEAST_ABOVE_DB = 24.0
MOST_DOWN_DB = 22.0
STILL_PERCENT = 5.0
TINY = 1e-12

Floats = NDArray[np.float64]


class HeldNotes:
    """Gathers the level of a recording block by block, then says how long notes were held."""

    def __init__(self, rate: int) -> None:
        """Begin a recording of ``rate`` samples a second."""
        self._size = max(round(STEP_S * rate), 1)
        self._step_s = self._size / rate
        self._rest = np.zeros(0, np.float32)
        self._power: list[Floats] = []

    def feed(self, block: Mono) -> None:
        """Take in a block, shape (n,)."""
        sound = np.concatenate([self._rest, block])
        whole = len(sound) // self._size * self._size
        steps = sound[:whole].reshape(-1, self._size).astype(np.float64)
        self._power.append(np.mean(steps**2, axis=1))
        self._rest = sound[whole:]

    def lengths_s(self, onsets_s: tuple[float, ...]) -> tuple[float | None, ...]:
        """Return how long each note that begins at one of ``onsets_s`` sounded, None where its end is not heard.

        The onsets are in rising order.
        """
        if not self._power:
            return (None,) * len(onsets_s)
        level = 10 * np.log10(np.concatenate(self._power) + TINY)
        still = float(np.percentile(level, STILL_PERCENT))
        stops = (*onsets_s[1:], len(level) * self._step_s)
        return tuple(
            self._length_s(level, still, start, stop)
            for start, stop in zip(onsets_s, stops, strict=True)
        )

    def _length_s(self, level: Floats, still: float, start_s: float, stop_s: float) -> float | None:
        """Return how long the note from ``start_s`` sounded, at most to ``stop_s``."""
        first = round((start_s + BEGIN_S) / self._step_s)
        last = min(round(stop_s / self._step_s), len(level))
        if (last - first) * self._step_s < SHORTEST_S:
            return None
        note = level[first:last]
        loud = float(np.median(note[: round((SUSTAIN_S - BEGIN_S) / self._step_s)]))
        if loud - still < LEAST_ABOVE_DB:
            return None
        down = loud - min((loud - still) / 2, MOST_DOWN_DB)
        end = _stays_below(note, down, round(STAYS_S / self._step_s))
        above = np.flatnonzero(note[:end] >= down + STEEP_DB)
        if end is None or not above.size or (end - above[-1]) * self._step_s > STEEP_S:
            return None
        return float((first + above[-1] + 1) * self._step_s - start_s)


def _stays_below(note: Floats, down: float, steps: int) -> int | None:
    """Return the first step from which the level stays below ``down`` for ``steps``, or None."""
    below = note < down
    for index in np.flatnonzero(below).tolist():
        if below[index : index + steps].all() and len(note) - index >= steps:
            return int(index)
    return None
