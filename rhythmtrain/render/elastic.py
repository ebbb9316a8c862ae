"""The map by which a recording is slowed: beats where they belong, strokes left as sharp as played.

Anchors say which second of the recording falls at which second of the track; between them time
goes in straight lines.  Around each stroke a few milliseconds are laid down at their own speed, so
that its edge stays what it was; the stroke itself falls exactly where the anchors put it, and
what the map lost there it catches up within 30 ms (measured on clicks and a piano made from
formulas: shorter leaves an echo before clicks, longer pulls soft notes beside strokes off their
places; see tests/simulate/stretch_table.py).
"""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError

LEAD_S, TAIL_S = 0.012, 0.018
CATCH_UP_S = 0.030
# Where strokes follow each other closely, this share of the time between them is left to stretch.
LEFT_TO_STRETCH = 0.3
SMALLEST_STEP_S = 1e-6

Anchors = tuple[tuple[float, float], ...]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Kept:
    """A stroke and how far before and after it the recording keeps its own speed."""

    recorded_s: float
    track_s: float
    lead_s: float
    tail_s: float


@dataclass(frozen=True, slots=True)
class Elastic:
    """Knots of the map: seconds of the recording, the track seconds at which they fall.

    ``kept`` are the strokes around which its slope is 1, in order.
    """

    recorded_s: tuple[float, ...]
    track_s: tuple[float, ...]
    kept: tuple[Kept, ...] = ()

    def recorded(self, track_s: Floats) -> Floats:
        """Return the seconds of the recording heard at ``track_s``, inside the knots."""
        return np.interp(track_s, self.track_s, self.recorded_s)

    def track(self, recorded_s: Floats) -> Floats:
        """Return the track seconds at which ``recorded_s`` are heard, inside the knots."""
        return np.interp(recorded_s, self.recorded_s, self.track_s)


def straight(anchors: Anchors) -> Elastic:
    """Return the map through ``anchors``, (recording second, track second).

    Raises:
        RequestError: fewer than two anchors, or anchors that do not go forward in both.
    """
    steps = list(pairwise(anchors))
    if not steps or any(b[0] <= a[0] or b[1] <= a[1] for a, b in steps):
        raise RequestError("the places of a recording in a track must go forward in both")
    return Elastic(
        tuple(float(recorded) for recorded, _ in anchors),
        tuple(float(track) for _, track in anchors),
    )


def elastic(anchors: Anchors, attacks_s: tuple[float, ...]) -> Elastic:
    """Return the map through ``anchors`` that keeps the strokes at ``attacks_s`` sharp.

    A stroke lies exactly where the straight map puts it.  At the recording's own speed this is
    the straight map.

    Raises:
        RequestError: fewer than two anchors, or anchors that do not go forward.
    """
    plain = straight(anchors)
    kept = list(_kept(plain, attacks_s))
    knots: list[tuple[float, float]] = [anchors[0]]
    waiting = list(anchors[1:-1])
    for number, each in enumerate(kept):
        low, high = each.recorded_s - each.lead_s, each.recorded_s + each.tail_s
        while waiting and waiting[0][0] < low - CATCH_UP_S:
            knots.append(waiting.pop(0))
        if low - knots[-1][0] > CATCH_UP_S:
            knots.append(_on(plain, low - CATCH_UP_S))
        knots += [(low, each.track_s - each.lead_s), (high, each.track_s + each.tail_s)]
        following = kept[number + 1] if number + 1 < len(kept) else None
        nearest = anchors[-1][0] if following is None else following.recorded_s - following.lead_s
        if nearest - high > 2 * CATCH_UP_S:
            knots.append(_on(plain, high + CATCH_UP_S))
        while waiting and waiting[0][0] <= high + CATCH_UP_S:
            waiting.pop(0)
    found = _rising([*knots, *waiting, anchors[-1]])
    return replace(found, kept=tuple(kept))


def _kept(plain: Elastic, attacks_s: tuple[float, ...]) -> list[Kept]:
    """Return the strokes inside the map with their reach, shorter where they crowd."""
    inside = [
        each
        for each in attacks_s
        if plain.recorded_s[0] + LEAD_S < each < plain.recorded_s[-1] - TAIL_S
    ]
    heard = plain.track(np.array(inside, dtype=np.float64)).tolist()
    leads, tails = [LEAD_S] * len(inside), [TAIL_S] * len(inside)
    for number, ((here, later), (now, then)) in enumerate(
        zip(pairwise(inside), pairwise(heard), strict=True)
    ):
        room = (1 - LEFT_TO_STRETCH) * min(later - here, then - now)
        share = min(1.0, room / (LEAD_S + TAIL_S))
        tails[number] *= share
        leads[number + 1] *= share
    return [Kept(*each) for each in zip(inside, heard, leads, tails, strict=True)]


def _on(plain: Elastic, recorded_s: float) -> tuple[float, float]:
    return recorded_s, float(plain.track(np.array([recorded_s]))[0])


def _rising(knots: list[tuple[float, float]]) -> Elastic:
    """Return the map through ``knots`` without those that would not go forward."""
    last = knots[-1]
    kept = knots[:1]
    for knot in knots[1:-1]:
        ahead = min(knot[0] - kept[-1][0], knot[1] - kept[-1][1])
        before_end = min(last[0] - knot[0], last[1] - knot[1])
        if ahead > SMALLEST_STEP_S and before_end > SMALLEST_STEP_S:
            kept.append(knot)
    return straight((*kept, last))
