"""What a person says of the beats: marks, and where each beat can be because of them.

A mark says that a numbered beat falls about at a second.  It is a Gaussian with a floor, so that
one bad mark is overruled by its neighbours and the recording instead of breaking the path.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError

ANCHOR_SD_S = 0.03
MARK_FLOOR = 1e-4
TAP_FLOOR = 1e-3
SLACK_BEATS = 2.5
SLACK_SHARE = 0.14
WIDEST_S = 12.0
SHORTEST_BEAT_S, LONGEST_BEAT_S = 0.12, 4.0

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Mark:
    """Beat number ``beat`` (0 is the first beat asked for) falls about at ``time_s``."""

    beat: int
    time_s: float
    sd_s: float = ANCHOR_SD_S
    floor: float = MARK_FLOOR

    def __post_init__(self) -> None:
        """Refuse what is no time."""
        if not (math.isfinite(self.time_s) and math.isfinite(self.sd_s) and self.sd_s > 0):
            raise RequestError(f"a mark must be a number of seconds, got {self.time_s}")


def in_order(marks: Sequence[Mark], duration_s: float, count: int) -> tuple[Mark, ...]:
    """Return ``marks`` by beat, after checking them.

    Raises:
        RequestError: a mark outside the recording or the beats, two that go backwards.
    """
    ordered = sorted(marks, key=lambda mark: mark.beat)
    for mark in ordered:
        if not 0 <= mark.time_s <= duration_s:
            raise RequestError(
                f"a mark at {mark.time_s:g} s lies outside the recording, which lasts "
                f"{duration_s:.1f} s"
            )
        if not 0 <= mark.beat < count:
            raise RequestError(
                f"a mark at {mark.time_s:g} s names a beat outside the bars to be mapped"
            )
    for early, late in pairwise(ordered):
        if late.beat == early.beat:
            raise RequestError(
                f"two marks, {early.time_s:g} s and {late.time_s:g} s, are for the same beat: "
                "leave one out"
            )
        if late.time_s <= early.time_s:
            raise RequestError(
                f"the marks at {early.time_s:g} s and {late.time_s:g} s go backwards: "
                "a later beat needs a later second"
            )
    return tuple(ordered)


def mean_interval(marks: Sequence[Mark], hint_s: float | None) -> float:
    """Return the mean seconds of a beat: from the outermost marks, or ``hint_s`` for one mark.

    Raises:
        RequestError: nothing to tell the tempo from, or a tempo nobody plays.
    """
    first, last = marks[0], marks[-1]
    if last.beat == first.beat:
        if hint_s is None:
            raise RequestError(
                "one mark does not tell the tempo: mark another beat, or give the tempo"
            )
        return hint_s
    mean = (last.time_s - first.time_s) / (last.beat - first.beat)
    if not SHORTEST_BEAT_S <= mean <= LONGEST_BEAT_S:
        raise RequestError(
            f"the marks give {mean:.2f} s a beat, and a beat lasts {SHORTEST_BEAT_S:g} to "
            f"{LONGEST_BEAT_S:g} s: check the bar numbers and seconds"
        )
    return mean


def ranges(
    marks: Sequence[Mark], count: int, mean_s: float, duration_s: float, *, room: float = 1.0
) -> Floats:
    """Return the seconds, shape (count, 2), between which each beat is looked for.

    Near a mark that is little room; farther away up to a seventh of the time to the nearest mark,
    which real accompanists do not use up within a section.  Where the tempo jumps between sections
    they need twice as much: ``room`` 2.
    """
    beats = np.array([mark.beat for mark in marks])
    times = np.array([mark.time_s for mark in marks])
    numbers = np.arange(count)
    middle = np.interp(numbers, beats, times)
    middle += (np.minimum(numbers - beats[0], 0) + np.maximum(numbers - beats[-1], 0)) * mean_s
    nearest = np.abs(middle[:, None] - times[None, :]).min(axis=1)
    spare = np.minimum(SLACK_BEATS * mean_s + room * SLACK_SHARE * nearest, room * WIDEST_S)
    bounds = np.stack((middle - spare, middle + spare), axis=1)
    bounds[:, 0] = np.clip(bounds[:, 0], 0, duration_s)
    bounds[:, 1] = np.clip(bounds[:, 1], 0, duration_s)
    return bounds


def mark_factor(mark: Mark, times_s: Floats) -> Floats:
    """Return how much ``mark`` favours each of ``times_s``: 1 at the mark, its floor far away."""
    away = (times_s - mark.time_s) / mark.sd_s
    factor: Floats = (1 - mark.floor) * np.exp(-0.5 * away**2) + mark.floor
    return factor
