"""Which keys and notes went down, from what came of them: releases, or a held key's own repeats.

Pads and keyboards tell when a note is let go, and so how long it was held.  A terminal does not;
but a key held down repeats itself, after a first wait of a quarter to three quarters of a second.
Most systems repeat 20 to 40 times a second, and no finger taps one key so fast (the fastest tapping
is about 7 a second): such a run is one key that was held until the run ended.

Some repeat 11 or 12 times a second.  That can be tapped, with two fingers, but not so evenly: 5 % of
the interval is a steady hand, 4 to 5 ms here, and a machine's repeats lie within one or two.  So
runs as slow as that are one held key where each comes after a wait, and the gaps of all in the take
are the same.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Protocol

import numpy as np

REPEAT_GAP_S = 0.06
LEAST_WAIT_S, REPEAT_WAIT_S = 0.2, 0.75
LEAST_REPEATS = 3
SLOWEST_S, EVEN_S = 0.1, 0.002
LEAST_GAPS, LEAST_EVEN = 8, 0.8
HELD_UP_S = 0.005


class Touch(Protocol):
    """A key or note going down or up, on the computer's clock."""

    @property
    def time_s(self) -> float:
        """Return when, in seconds of the clock."""
        ...

    @property
    def what(self) -> str:
        """Return which key or note."""
        ...

    @property
    def velocity(self) -> int | None:
        """Return how hard, 1 to 127, where known."""
        ...

    @property
    def released(self) -> bool:
        """Return whether it went up."""
        ...


@dataclass(frozen=True, slots=True)
class Press:
    """A key or note that went down at ``time_s``, held for ``length_s`` where known."""

    time_s: float
    what: str
    velocity: int | None = None
    length_s: float | None = None


def presses(touches: Iterable[Touch]) -> tuple[Press, ...]:
    """Return what went down, in order of time, with how long it was held where that is known."""
    ordered = sorted(touches, key=lambda touch: touch.time_s)
    found: list[Press] = []
    for key in dict.fromkeys(touch.what for touch in ordered):
        mine = [touch for touch in ordered if touch.what == key]
        told = any(touch.released for touch in mine)
        found += _with_releases(mine) if told else _without_repeats(mine)
    return tuple(sorted(found, key=lambda press: press.time_s))


def _with_releases(touches: Sequence[Touch]) -> list[Press]:
    """Return the presses of one key; a press ends at the next touch of that key."""
    found = []
    for touch, after in zip(touches, [*touches[1:], None], strict=True):
        if not touch.released:
            length_s = after.time_s - touch.time_s if after is not None else None
            found.append(Press(touch.time_s, touch.what, touch.velocity, length_s))
    return found


def _without_repeats(touches: Sequence[Touch]) -> list[Press]:
    """Return the presses of one key that tells no releases, each run of repeats as one hold."""
    found: list[Press] = []
    every_s = _repeats_slowly_every(touches)
    for run in _runs(touches, (0.0, REPEAT_GAP_S) if every_s is None else _around(every_s)):
        first, last = run[0], run[-1]
        waited = bool(found) and first.time_s - found[-1].time_s <= REPEAT_WAIT_S
        held = len(run) >= LEAST_REPEATS if every_s is None else len(run) > 1 and waited
        if not held:
            found += [Press(touch.time_s, touch.what, touch.velocity) for touch in run]
            continue
        begun_s = first.time_s
        if waited and found[-1].length_s is None:
            begun_s = found.pop().time_s
        found.append(Press(begun_s, first.what, first.velocity, last.time_s - begun_s))
    return found


def _repeats_slowly_every(touches: Sequence[Touch]) -> float | None:
    """Return how far apart a held key's repeats lie, where so far that they might be tapped."""
    gaps: list[float] = []
    before_s = -math.inf
    for run in _runs(touches, (0.0, SLOWEST_S)):
        if LEAST_WAIT_S <= run[0].time_s - before_s <= REPEAT_WAIT_S:
            gaps += [after.time_s - touch.time_s for touch, after in pairwise(run)]
        before_s = run[-1].time_s
    slow = np.array([gap for gap in gaps if gap > REPEAT_GAP_S])
    if len(slow) < LEAST_GAPS:
        return None
    usual_s = float(np.median(slow))
    even = float(np.mean(np.abs(slow - usual_s) <= EVEN_S))
    return usual_s if even >= LEAST_EVEN else None


def _around(every_s: float) -> tuple[float, float]:
    """Return between which gaps a key goes on repeating itself ``every_s`` seconds."""
    return every_s - HELD_UP_S, every_s + HELD_UP_S


def _runs(touches: Sequence[Touch], gaps_s: tuple[float, float]) -> list[list[Touch]]:
    """Return the touches in runs: one goes on where the gap lies between ``gaps_s``."""
    runs: list[list[Touch]] = []
    for touch in touches:
        if runs and gaps_s[0] <= touch.time_s - runs[-1][-1].time_s <= gaps_s[1]:
            runs[-1].append(touch)
        else:
            runs.append([touch])
    return runs
