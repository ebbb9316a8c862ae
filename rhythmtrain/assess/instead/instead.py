"""Whether a take is the beat, or another row, clapped in place of the rhythm.

The commonest mistake of a beginner who is told to clap along.  Each row (see ``rows``) is followed
through the take as a passage would be; one that holds nearly all the claps, and nearly all of whose
places were clapped, may be what was clapped.  Whether it was is asked of the places in which row and
rhythm differ (see ``evidence``); the rhythm may there be read wrongly throughout, which has a name of its own.

Where nobody said how fast it was played, even claps may be the beat or half of it: they are called
what asks for the least odd tempo.  A passage that is itself nearly the beat differs from it in too
few places, and is never taken for it.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from math import log

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.clapped_rows import Instead, Row
from rhythmtrain.assess.figures.misread import misreadings
from rhythmtrain.assess.instead.evidence import TICKS, Evidence, Laid, least_evidence, ticks
from rhythmtrain.assess.instead.rows import part_of, rows_of
from rhythmtrain.assess.matching.following import Stretch, follow
from rhythmtrain.assess.matching.speed import FASTEST, SLOWEST, find_speed
from rhythmtrain.assess.offsets import ROBUST
from rhythmtrain.assess.written import Written, written_of
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

FEWEST_CLAPS, MOST_CLAPS, MOST_NOTES = 8, 200, 2_000
# A clap lies on the row within this much of it, and of the spacing of its places.
NEAR_S, NEAR_BEATS, NEAR_SHARE = 0.150, 0.40, 0.25
# More than so many times the usual distance, and a clap is missing.
GAP = 1.8
# Measured on attempts and on clapped beats of passages that were never chosen on, see
# tests/simulate/instead_table.py.
LEAST_ODDS, LIKELY_ODDS = 6.0, 3.0
LEAST_ON_ROW, LEAST_OF_ROW, LEAST_OF_TAKE = 0.80, 0.75, 0.60
LEAST_AGREED, LIKELY_AGREED = 0.85, 0.70


@dataclass(frozen=True, slots=True)
class _Asked:
    """A take and the passage; ``rhythms`` are the places of its notes as written and as misread."""

    timeline: Timeline
    played_s: Floats
    speed_known: bool
    start_s: float | None
    rhythms: tuple[Ints, ...]


@dataclass(frozen=True, slots=True)
class _Fit:
    """A row that fits a take: the claps, and where the row's nearest places fall, in seconds."""

    row: Row
    places: Written
    claps_s: Floats
    row_s: Floats
    evidence: Evidence
    on_row: float


def clapped_instead(
    timeline: Timeline,
    played_s: Floats,
    *,
    speed_known: bool,
    start_s: float | None,
    misread: bool = False,
) -> Instead | None:
    """Return the row that was clapped, or is likelier than the rhythm, in place of it, or None.

    ``played_s`` are the claps in seconds of the take, each heard once; ``start_s`` is where bar 1
    begins, where that is known; with ``misread`` it may be the rhythm with a figure misread throughout.
    """
    written = written_of(timeline)
    if len(played_s) < FEWEST_CLAPS or len(written.at) > MOST_NOTES:
        return None
    readings = _misread(timeline, written) if misread else ()
    rhythms = (ticks(written.at), *readings)
    asked = _Asked(timeline, played_s[:MOST_CLAPS], speed_known, start_s, rhythms)
    fits = [fit for row, places in rows_of(timeline) if (fit := _fit(row, places, asked))]
    best = min(fits, key=_oddness, default=None)
    if best is None:
        return None
    sure = _passes(best.evidence, LEAST_ODDS, LEAST_AGREED)
    likely = _passes(best.evidence, LIKELY_ODDS, LIKELY_AGREED)
    return _told(best, asked, sure=sure) if likely else None


def _misread(timeline: Timeline, written: Written) -> Iterator[Ints]:
    for reading in misreadings(timeline, written):
        yield ticks(written.pace.quarter(reading.times_s))


def _fit(row: Row, places: Written, asked: _Asked) -> _Fit | None:
    """Return how ``row`` fits the take, None where most of it lies beside it."""
    played_s = asked.played_s
    about = _usual(places.times_s) / _usual(played_s)
    if asked.speed_known:
        speed = 1.0
    elif SLOWEST <= about <= FASTEST:
        speed = find_speed(played_s, places, about=about)
    else:
        return None
    places = places.faster(speed)
    stretches, _ = follow(played_s, places, start_s=asked.start_s)
    longest = max(stretches, key=lambda each: each.last - each.first, default=None)
    if longest is None or not _enough(longest, played_s):
        return None
    claps = played_s[longest.first : longest.last + 1]
    at = np.maximum.accumulate(places.pace.quarter(claps - longest.origins_s))
    laid = _laid(at, places, asked.timeline)
    found = [each for notes in asked.rhythms if (each := least_evidence(laid, notes)) is not None]
    least = min(found, key=lambda each: each.odds, default=None)
    if least is None or laid.share_on_row < LEAST_ON_ROW or least.of_row < LEAST_OF_ROW:
        return None
    return _Fit(row, places, claps, places.times_s[laid.nearest], least, laid.share_on_row)


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


def _passes(evidence: Evidence, odds: float, agreed: float) -> bool:
    return evidence.odds >= odds and evidence.agreed >= agreed


def _oddness(fit: _Fit) -> tuple[float, float]:
    """Return how far from the asked tempo a row was clapped, then how badly it fits."""
    return round(abs(log(fit.places.speed)), 1), -fit.evidence.of_row * fit.on_row


def _told(fit: _Fit, asked: _Asked, *, sure: bool) -> Instead:
    spread_s = _spread_s(fit.row_s, fit.claps_s)
    bars = _other_bars(asked.timeline, fit.places)
    return Instead(fit.row, fit.places.speed, spread_s, bars, sure)


def _spread_s(row_s: Floats, claps_s: Floats) -> float:
    """Return the robust spread of claps around the row, clapped at one tempo of their own."""
    rest = claps_s - np.polyval(np.polyfit(row_s, claps_s, 1), row_s)
    return ROBUST * float(np.median(np.abs(rest - np.median(rest))))


def _other_bars(timeline: Timeline, row: Written) -> tuple[int, ...]:
    """Return the bars with notes in which the rhythm is not the row."""
    rhythm: defaultdict[int, set[float]] = defaultdict(set)
    for note in timeline.notes:
        rhythm[note.place].add(float(note.at))
    even: defaultdict[int, set[float]] = defaultdict(set)
    for place, at in zip(row.place.tolist(), row.at.tolist(), strict=True):
        even[place].add(at)
    other = (place for place in sorted(rhythm) if rhythm[place] != even[place])
    return tuple(dict.fromkeys(timeline.bars[place].bar.number for place in other))
