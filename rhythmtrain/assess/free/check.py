"""A freely played take held against its passage: from onsets on one clock to findings.

Nothing kept time, so nothing is early or late by the clock.  The take is followed note by note
(``match``), cut into tries (``pieces``), freed of the figures that were played as other
figures (``tempo``), and only then is each note held against its neighbours (``offsets``)
and each entry against both sides of its rest (``entries``).
"""

from dataclasses import replace

import numpy as np

from rhythmtrain.assess.figures.misread import misreadings, named_throughout
from rhythmtrain.assess.findings import Findings, Try
from rhythmtrain.assess.free.lines import Read, extra_lines, note_lines
from rhythmtrain.assess.free.pieces import Asked, Go, fullest, goes
from rhythmtrain.assess.free.reading import asked_of, judged_of, read_of
from rhythmtrain.assess.free.refusal import opinion
from rhythmtrain.assess.free.remarks import remarks_on, why_not
from rhythmtrain.assess.free.walk import Floats
from rhythmtrain.assess.judging.lines import bar_lines, tally_of
from rhythmtrain.assess.offsets import ROBUST, habit_known_to_s, spread_of, theil_sen
from rhythmtrain.assess.written import written_of
from rhythmtrain.capture.take import Take
from rhythmtrain.errors import TakeError
from rhythmtrain.timing.timeline import Timeline

SHUFFLE_SEED = 20
FEWEST_FOR_DRIFT = 8


def free_findings(timeline: Timeline, take: Take, *, start_s: float | None = None) -> Findings:
    """Return what was heard of ``take``, played in free tempo, held against ``timeline``.

    ``timeline`` need be only about as fast as the take, within a factor of two.  ``start_s`` is
    the second of the take at which bar 1 begins, where that is known.

    Raises:
        TakeError: nothing was heard, or nothing that belongs to the passage.
        RequestError: the passage gives the player no notes.
    """
    asked = asked_of(timeline, take, start_s)
    tries = goes(asked)
    if not tries:
        raise TakeError(
            f"nothing in {take.name} belongs to the passage: check that it is the right passage "
            "and the right bars"
        )
    shown = fullest(tries)
    rng = np.random.default_rng(SHUFFLE_SEED)
    looks_like = opinion(asked, tries[shown], rng)
    misread = _misread(timeline, asked) if looks_like is False else None
    if misread is not None:
        tries, looks_like = misread, True
        shown = fullest(tries)
    read = read_of(timeline, asked, tries[shown])
    judged = judged_of(timeline, read)
    notes = note_lines(timeline, read, judged.offsets)
    extras = extra_lines(timeline, read, notes)
    told = tuple(_try_of(timeline, asked, go) for go in tries)
    uncertainty = float(np.median([each.uncertainty_s for each in take.heard]))
    return Findings(
        timing="free",
        speed=timeline.practice.speed / read.row.stretch,
        tempo_found=True,
        looks_like=looks_like,
        start="found" if start_s is None else "given",
        start_s=told[shown].start_s if start_s is None else start_s,
        tries=told,
        shown=shown,
        shift_beats=None,
        tally=tally_of(notes, len(extras)),
        spread=spread_of(judged.offsets.offsets_s, uncertainty),
        drift_percent=_drift_percent(read),
        uncertainty_s=habit_known_to_s(len(read.notes), uncertainty),
        notes=notes,
        extras=extras,
        mistakes=judged.mistakes,
        entries=judged.entries,
        bars=bar_lines(notes, extras),
        remarks=(*remarks_on(timeline, read, told, shown), *why_not(judged.entries)),
        unsteady_s=_unsteady_s(judged.offsets.offsets_s),
        slips=tuple(
            number for number, note in enumerate(notes) if note.plain and note.offset_s is not None
        ),
    )


def _misread(timeline: Timeline, asked: Asked) -> tuple[Go, ...] | None:
    """Return the tries of a take in which one figure was misread throughout, or None."""
    for reading in misreadings(timeline, written_of(timeline)):
        units = np.interp(reading.times_s, asked.written_s, asked.units)
        sounds = replace(asked, written_s=reading.times_s, units=units)
        tries = goes(sounds)
        shown = fullest(tries) if tries else 0
        if not tries or not opinion(sounds, tries[shown], np.random.default_rng(SHUFFLE_SEED)):
            continue
        judged = judged_of(timeline, read_of(timeline, asked, tries[shown]))
        if named_throughout(judged.mistakes):
            return tries
    return None


def _unsteady_s(offsets_s: Floats) -> float:
    """Return the robust spread of single notes, in seconds."""
    return ROBUST * float(np.median(np.abs(offsets_s - np.median(offsets_s))))


def _try_of(timeline: Timeline, asked: Asked, go: Go) -> Try:
    """Return a try in bars; it starts where bar 1 would begin at its mean tempo."""
    own = written_of(timeline).index.tolist()
    ranks, claps = (np.array(part) for part in zip(*go.pairs, strict=True))
    written, heard = asked.written_s[ranks], asked.played_s[claps]
    slope = 1.0 + theil_sen(written, heard - written)
    last = len(own) - 1
    complete = (
        asked.bar[go.first_note] == asked.bar[0] and asked.bar[go.last_note] == asked.bar[last]
    )
    return Try(
        timeline.notes[own[go.first_note]].note.bar,
        timeline.notes[own[go.last_note]].note.bar,
        float(heard[0] - slope * written[0]),
        complete,
    )


def _drift_percent(read: Read) -> float | None:
    """Return how much faster (positive) the second half went than the first, in per cent."""
    if len(read.notes) < FEWEST_FOR_DRIFT:
        return None
    half = len(read.notes) // 2
    written, late = read.row.written_s, read.row.played_s - read.row.written_s
    early = 1 + theil_sen(written[:half], late[:half])
    return 100 * (early / (1 + theil_sen(written[half:], late[half:])) - 1)
