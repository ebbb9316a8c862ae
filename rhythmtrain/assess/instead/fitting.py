"""How well a row, or the rhythm itself, fits the claps of a take, at the tempo that suits it.

The places are followed through the take as a passage would be; what lies in the longest stretch is
laid on them, and share on share it is counted how many claps lie on a place and how many places
were clapped.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.clapped_rows import Row
from rhythmtrain.assess.instead.evidence import (
    TICKS,
    Evidence,
    Laid,
    evidence,
    least_evidence,
    ticks,
)
from rhythmtrain.assess.instead.rows import part_of
from rhythmtrain.assess.matching.following import Stretch, follow
from rhythmtrain.assess.matching.speed import FASTEST, SLOWEST, find_speed
from rhythmtrain.assess.written import Written
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FEWEST_CLAPS = 8
# A clap lies on the row within this much of it, and of the spacing of its places.
NEAR_S, NEAR_BEATS, NEAR_SHARE = 0.150, 0.40, 0.25
# More than so many times the usual distance, and a clap is missing.
GAP = 1.8
# Measured on attempts and on clapped beats of passages that were never chosen on, see
# tests/simulate/instead_table.py.
LEAST_ON_ROW, LEAST_OF_ROW, LEAST_OF_TAKE = 0.80, 0.75, 0.60
# A rhythm may be played this much beyond the tempi that are looked for.
BEYOND = 1.3


@dataclass(frozen=True, slots=True)
class Asked:
    """A take and the passage; ``rhythms`` are the places of its notes as written and as misread."""

    timeline: Timeline
    played_s: Floats
    speed_known: bool
    start_s: float | None
    rhythms: tuple[Ints, ...]


@dataclass(frozen=True, slots=True)
class _Followed:
    """Places that were followed through most of a take: the claps, and those laid on the places."""

    places: Written
    claps_s: Floats
    laid: Laid


@dataclass(frozen=True, slots=True)
class Fit:
    """A row that fits a take: the claps, and where the row's nearest places fall, in seconds."""

    row: Row
    places: Written
    claps_s: Floats
    row_s: Floats
    evidence: Evidence
    on_row: float

    @property
    def well(self) -> float:
        """Return how well the row fits, from 0 to 1."""
        return self.evidence.of_row * self.on_row


def rhythm_fits(written: Written, asked: Asked) -> float:
    """Return how well the rhythm itself fits the take at the tempo that suits it, from 0 to 1.

    It may be a little slower, or faster, than a tempo is looked for.
    """
    about = _about(written, asked)
    if not SLOWEST / BEYOND <= about <= FASTEST * BEYOND:
        return 0.0
    within = SLOWEST <= about <= FASTEST
    speed = find_speed(asked.played_s, written, about=about) if within else about
    followed = _followed(written.faster(speed), asked)
    if followed is None:
        return 0.0
    itself = evidence(followed.laid, followed.laid.row)
    return itself.of_row * followed.laid.share_on_row if itself is not None else 0.0


def fit_of(row: Row, places: Written, asked: Asked) -> Fit | None:
    """Return how ``row`` fits the take, None where most of it lies beside it."""
    speed, about = 1.0, _about(places, asked)
    if not asked.speed_known:
        if not SLOWEST <= about <= FASTEST:
            return None
        speed = find_speed(asked.played_s, places, about=about)
    followed = _followed(places.faster(speed), asked)
    if followed is None:
        return None
    laid = followed.laid
    found = [each for notes in asked.rhythms if (each := least_evidence(laid, notes)) is not None]
    least = min(found, key=lambda each: each.odds, default=None)
    if least is None or laid.share_on_row < LEAST_ON_ROW or least.of_row < LEAST_OF_ROW:
        return None
    row_s = followed.places.times_s[laid.nearest]
    return Fit(row, followed.places, followed.claps_s, row_s, least, laid.share_on_row)


def _about(places: Written, asked: Asked) -> float:
    """Return how fast the claps go by, over the places."""
    return _usual(places.times_s) / _usual(asked.played_s)


def _followed(places: Written, asked: Asked) -> _Followed | None:
    """Return ``places`` followed through the take; None: not through most of it."""
    played_s = asked.played_s
    stretches, _ = follow(played_s, places, start_s=asked.start_s)
    longest = max(stretches, key=lambda each: each.last - each.first, default=None)
    if longest is None or not _enough(longest, played_s):
        return None
    claps = played_s[longest.first : longest.last + 1]
    at = np.maximum.accumulate(places.pace.quarter(claps - longest.origins_s))
    return _Followed(places, claps, _laid(at, places, asked.timeline))


def _usual(times_s: Floats) -> float:
    """Return the mean distance of what lies at times, leaving out the gaps where something is missing."""
    gaps = np.diff(times_s)
    return float(np.mean(gaps[gaps <= GAP * np.median(gaps)]))


def _enough(stretch: Stretch, played_s: Floats) -> bool:
    claps = stretch.last - stretch.first + 1
    return claps >= max(FEWEST_CLAPS, LEAST_OF_TAKE * len(played_s))


def _laid(at: Floats, places: Written, timeline: Timeline) -> Laid:
    """Return claps at ``at``, in quarters, laid on a row."""
    beat = float(np.median(places.beat_quarters))
    near = min(NEAR_S / places.beat, NEAR_BEATS) * beat
    spacing = float(np.min(np.diff(places.at)))
    return Laid(
        ticks(at),
        ticks(places.at),
        near=int(near * TICKS),
        on_row=int(min(near, NEAR_SHARE * spacing) * TICKS),
        bar=int(np.max(places.bar_quarters) * TICKS),
        span=(int(timeline.start * TICKS), int(timeline.stop * TICKS)),
        step=int(part_of(timeline) * TICKS),
    )
