"""What came of holding a take against its passage, summed up as findings.

A take is judged note by note (``judging``); here its notes, entries, bars and mistakes are put beside the
figures of the whole try: how evenly it went, whether it drifted, what was played as another figure.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.findings import Findings, Mistake, Try, Verdict
from rhythmtrain.assess.free.mistakes import mistakes_known
from rhythmtrain.assess.judging.entry_lines import entry_lines
from rhythmtrain.assess.judging.judging import Judging
from rhythmtrain.assess.judging.lines import bar_lines, extra_lines, note_lines, tally_of
from rhythmtrain.assess.judging.remarks import remarks_on
from rhythmtrain.assess.matching.tries import Attempt
from rhythmtrain.assess.offsets import (
    habit_known_to_s,
    parts_of,
    slope_error,
    spread_of,
    theil_sen,
    without_means,
)
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.tolerance import spread_s

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

FEWEST_FOR_DRIFT = 8
PARTS_APART_S = 1e6
# A drift is told where it cannot well be luck: of eight even notes that nothing kept time for, one half
# seems 3 % faster than the other again and again.
SURE_ERRORS, PLAIN_PERCENT = 3.0, 3.0
HABITUAL = 3


@dataclass(frozen=True, slots=True)
class Outcome:
    """The try shown with its verdicts, all the tries, and whether it is the passage at all."""

    judging: Judging
    tries: tuple[Attempt, ...]
    shown: int
    looks_like: bool | None


def findings_of(outcome: Outcome, *, settings: Settings, uncertainty_s: float) -> Findings:
    """Return the findings of the try shown."""
    judging, tries, shown = outcome.judging, outcome.tries, outcome.shown
    given = judging.rendition.parts[0].given
    notes, extras = note_lines(judging), extra_lines(judging)
    heard = np.flatnonzero(np.isfinite(judging.judged.away_s))
    away = judging.judged.away_s[heard]
    parts = parts_of(judging.written.times_s[heard], away) if len(heard) else None
    told = tuple(_try_of(each, judging) for each in tries)
    written_speed = judging.timeline.practice.speed
    return Findings(
        timing=settings.timing,
        speed=written_speed * judging.speed,
        tempo_found=settings.speed is None,
        looks_like=outcome.looks_like,
        start="given" if given else "found",
        start_s=float(judging.rendition.base_s[judging.rendition.parts[0].first]),
        tries=told,
        shown=shown,
        shift_beats=judging.rendition.shift_beats,
        tally=tally_of(notes, len(extras)),
        spread=spread_of(judging.own_s[heard], uncertainty_s),
        drift_percent=_drift_percent(judging),
        uncertainty_s=habit_known_to_s(len(heard), uncertainty_s),
        notes=notes,
        extras=extras,
        mistakes=mistakes_in(judging),
        entries=entry_lines(judging),
        bars=bar_lines(notes, extras),
        unsteady_s=parts.unsteady_s if parts else None,
        slips=tuple(int(heard[slip]) for slip in parts.slips) if parts else (),
        remarks=(*settings.remarks, *remarks_on(judging, told, shown, given=given)),
    )


def _try_of(attempt: Attempt, judging: Judging) -> Try:
    """Return a try in bars."""
    numbers = [judging.timeline.notes[int(index)].note.bar for index in judging.written.index]
    last = len(numbers) - 1
    place = judging.written.place
    complete = (place[attempt.first_note] == place[0] or attempt.first_note <= 1) and (
        place[attempt.last_note] == place[last] or attempt.last_note >= last - 1
    )
    return Try(
        numbers[attempt.first_note],
        numbers[attempt.last_note],
        attempt.pieces[0].origin_s,
        bool(complete),
    )


def _drift_percent(judging: Judging) -> float | None:
    """Return how much faster (positive) the player was than what was to be kept, in per cent.

    Where the speed was found, that is how much faster the second half went than the first.  None
    where the notes are too few, or too close together, to tell a drift of which one would speak from
    their own unevenness.
    """
    heard = np.flatnonzero(np.isfinite(judging.judged.away_s))
    if len(heard) < FEWEST_FOR_DRIFT:
        return None
    spans = (heard,) if judging.clicked else tuple(np.array_split(heard, 2))
    slopes = [_slope(judging, span) for span in spans]
    drift = -100 * (slopes[-1] - (0.0 if judging.clicked else slopes[0]))
    unsure = 100 * _unsure(judging, spans, slopes)
    return drift if SURE_ERRORS * unsure <= max(abs(drift), PLAIN_PERCENT) else None


def _slope(judging: Judging, notes: Ints) -> float:
    """Return the seconds by which offsets grow each second, within phrases played in one go."""
    return theil_sen(judging.written.times_s[notes], judging.own_s[notes], _go(judging, notes))


def _go(judging: Judging, notes: Ints) -> Floats:
    """Return a number for each note, equal for those of a phrase played in one go."""
    own = judging.rendition.shift_s + PARTS_APART_S * judging.rendition.part
    return np.asarray(own[notes], dtype=np.float64)


def _unsure(judging: Judging, spans: Sequence[Ints], slopes: Sequence[float]) -> float:
    """Return the standard error of the slopes together, told by what lies beside them."""
    times = [judging.written.times_s[notes] for notes in spans]
    phrases = [_go(judging, notes) for notes in spans]
    beside = [
        without_means(judging.own_s[notes] - slope * when, phrase)
        for notes, slope, when, phrase in zip(spans, slopes, times, phrases, strict=True)
    ]
    rest = np.concatenate(beside)
    free = max(len(rest) - 2 * len(spans), 1)
    spread = max(float(np.sqrt(np.sum(rest**2) / free)), float(spread_s(judging.written.beat)))
    errors = [
        slope_error(when, spread, phrase) for when, phrase in zip(times, phrases, strict=True)
    ]
    return float(np.hypot.reduce(errors))


def mistakes_in(judging: Judging) -> tuple[Mistake, ...]:
    """Return the figures that were played as others, where a note of them was out of time.

    What comes again and again is told even where each time it was within the window.
    """
    offsets = np.full(len(judging.timeline.notes), np.nan)
    offsets[judging.written.index] = judging.judged.away_s
    verdicts = judging.judged.verdict
    return tuple(
        mistake
        for mistake in mistakes_known(judging.timeline, offsets.tolist(), speed=judging.speed)
        if mistake.times >= HABITUAL
        or any(verdicts[note] is not Verdict.IN_TIME for note in mistake.notes)
    )
