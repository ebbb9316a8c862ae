"""The weights by which notes are told from other rises: ``python -m tests.simulate.note_fit [lines]``.

Logistic regression (ridge of 1 on standardised columns) on the halves "tune" of ``note_lines`` and
``aloud_takes``.  A rise within 45 ms of a true onset is one, one up to 0.1 s after it does not
count, any other is none; so a rise 50 ms before a note is none.  The constant in use is lower by
0.3: a note that nobody played is worse than one that was missed.
"""

import sys
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.note import note_columns
from rhythmtrain.hearing.onsets.onsets import OnsetFinder
from tests.simulate.aloud_fit import fitted
from tests.simulate.aloud_takes import aloud_take
from tests.simulate.note_lines import PLAYERS, STYLES, note_line
from tests.simulate.sounds import Scene

Array = NDArray[np.float64]
NEAR_S, AFTER_S = 0.045, 0.1
SLOW_TAKES = ("reed, breath, keys", "bow, breath, bow placed")
FIRST = 500


class _AllRises(OnsetFinder):
    """Keeps the columns of every rise, in place of judging it."""

    def __init__(self, rate: int) -> None:
        super().__init__(rate, kind="wind")
        self.rises: list[tuple[float, Array]] = []

    def _likely_note(self, place: int, flux_db: float) -> float:
        first = max(0, self._origin)
        heard = self._sound[first - self._origin : self._heard - self._origin]
        columns = note_columns(heard, place - first, flux_db, self._bands)
        self.rises.append((place / self._rate, columns))
        return -1.0


def scenes(count: int) -> Iterator[Scene]:
    """Yield ``count`` lines of each player and style, and as many takes with breath and keys."""
    for number in range(FIRST, FIRST + count):
        for name in PLAYERS:
            for style in STYLES:
                yield note_line("tune", name, style, number)
        for name in SLOW_TAKES:
            yield aloud_take("tune", name, number).scene
            yield aloud_take("tune", name, number + count).scene


def rises(scene: Scene) -> tuple[Array, Array]:
    """Return the columns of the rises in ``scene`` that count, and 1 for each that is a note."""
    finder = _AllRises(scene.rate)
    finder.feed(scene.sound)
    finder.finish()
    onsets = np.array(scene.onsets_s)
    columns, truth = [], []
    for time_s, column in finder.rises:
        off = time_s - onsets
        nearest = float(off[np.argmin(np.abs(off))])
        if not NEAR_S < nearest <= AFTER_S:
            columns.append(column)
            truth.append(float(abs(nearest) <= NEAR_S))
    return np.array(columns), np.array(truth)


def main(count: int) -> None:
    """Print the weights from ``count`` lines of each player and style."""
    found = [rises(scene) for scene in scenes(count)]
    weights = fitted(*(np.concatenate(part) for part in zip(*found, strict=True)))
    print(f"WEIGHTS = ({', '.join(f'{weight:.3g}' for weight in weights)})")  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 4)
