"""Whether a take is the beat, or another row, clapped in place of the rhythm.

The commonest mistake of a beginner who is told to clap along.  Each row (see ``rows``) is followed
through the take as a passage would be; one that holds nearly all the claps, and nearly all of whose
places were clapped, may be what was clapped.  Whether it was is asked of the places in which row and
rhythm differ (see ``evidence``); the rhythm may there be read wrongly throughout, which has a name of its own.

Where nobody said how fast it was played, even claps may be the beat or half of it: they are called
what asks for the least odd tempo.  They may be an even rhythm at half its tempo as well: where the rhythm,
at whatever tempo, fits the claps about as well as the row, nothing is told.  It is asked of the claps that
the row fits, too: a row may be shorter than the take, and fit the half in which least is missing.  A passage that is itself nearly the beat differs from it in too few
places, and is never taken for it.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from math import log

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.clapped_rows import Instead
from rhythmtrain.assess.figures.misread import misreadings
from rhythmtrain.assess.instead.evidence import Evidence, ticks
from rhythmtrain.assess.instead.fitting import FEWEST_CLAPS, Asked, Fit, fit_of, rhythm_fits
from rhythmtrain.assess.instead.rows import rows_of
from rhythmtrain.assess.offsets import ROBUST
from rhythmtrain.assess.written import Written, written_of
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_CLAPS, MOST_NOTES = 200, 2_000
# Measured on attempts and on clapped beats of passages that were never chosen on, see
# tests/simulate/instead_table.py.
LEAST_ODDS, LIKELY_ODDS = 6.0, 3.0
LEAST_AGREED, LIKELY_AGREED = 0.85, 0.70
# A rhythm that fits so well, beside the row, is what an honest player may have clapped.
AS_WELL = 0.90


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
    asked = Asked(timeline, played_s[:MOST_CLAPS], speed_known, start_s, rhythms)
    fits = [fit for row, places in rows_of(timeline) if (fit := fit_of(row, places, asked))]
    best = min(fits, key=_oddness, default=None)
    if best is None or not _passes(best.evidence, LIKELY_ODDS, LIKELY_AGREED):
        return None
    if not speed_known and _fits_as_well(written, asked, best):
        return None
    return _told(best, asked, sure=_passes(best.evidence, LEAST_ODDS, LEAST_AGREED))


def _fits_as_well(written: Written, asked: Asked, row: Fit) -> bool:
    """Return whether the rhythm fits the take, or those of its claps that the row fits, as well."""
    takes = (asked, replace(asked, played_s=row.claps_s))
    return any(rhythm_fits(written, each) >= AS_WELL * row.well for each in takes)


def _misread(timeline: Timeline, written: Written) -> Iterator[Ints]:
    for reading in misreadings(timeline, written):
        yield ticks(written.pace.quarter(reading.times_s))


def _passes(evidence: Evidence, odds: float, agreed: float) -> bool:
    return evidence.odds >= odds and evidence.agreed >= agreed


def _oddness(fit: Fit) -> tuple[float, float]:
    """Return how far from the asked tempo a row was clapped, then how badly it fits."""
    return round(abs(log(fit.places.speed)), 1), -fit.well


def _told(fit: Fit, asked: Asked, *, sure: bool) -> Instead:
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
