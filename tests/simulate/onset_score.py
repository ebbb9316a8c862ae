"""How well onsets were found: F-measure within a window, and the errors of the matched ones."""

from collections.abc import Iterable
from dataclasses import dataclass

import mir_eval
import numpy as np
from numpy.typing import ArrayLike, NDArray

WINDOW_S = 0.05


@dataclass(frozen=True, slots=True)
class Score:
    """Counts over a set of takes, and the signed errors in seconds (late is positive)."""

    true: int
    found: int
    matched: int
    errors_s: NDArray[np.float64]

    @property
    def f(self) -> float:
        """Return the F-measure at 50 ms."""
        return 2 * self.matched / max(1, self.true + self.found)

    @property
    def bias_s(self) -> float:
        """Return the median signed error."""
        return float(np.median(self.errors_s))

    def error_s(self, percentile: float) -> float:
        """Return a percentile of the size of the errors."""
        return float(np.percentile(np.abs(self.errors_s), percentile))

    def within(self, window_s: float) -> float:
        """Return the F-measure in a narrower window, from the same pairs."""
        return 2 * float(np.sum(np.abs(self.errors_s) <= window_s)) / max(1, self.true + self.found)

    def without_offset(self) -> "Score":
        """Return the score with the detector's constant offset taken out."""
        return Score(self.true, self.found, self.matched, self.errors_s - self.bias_s)


def scored(pairs: Iterable[tuple[ArrayLike, ArrayLike]], *, offset_s: float = 0) -> Score:
    """Return the score of (true, found) onset times, ``offset_s`` being taken from those found."""
    true = found = 0
    errors: list[float] = []
    for truth, heard in pairs:
        a, b = np.asarray(truth, float), np.asarray(heard, float) - offset_s
        true, found = true + a.size, found + b.size
        errors.extend(b[j] - a[i] for i, j in mir_eval.util.match_events(a, b, WINDOW_S))
    return Score(true, found, len(errors), np.array(errors or [np.nan]))
