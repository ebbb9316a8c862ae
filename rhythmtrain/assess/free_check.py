"""A freely played take held against its passage: from onsets on one clock to findings.

Nothing kept time, so nothing is early or late by the clock.  The take is followed note by note
(``free_match``), cut into tries (``free_pieces``), freed of the figures that were played as other
figures (``free_tempo``), and only then is each note held against its neighbours (``free_offsets``)
and each entry against both sides of its rest (``free_entries``).
"""

from dataclasses import dataclass

import numpy as np

from rhythmtrain.assess.doubles import single
from rhythmtrain.assess.figure_places import chances
from rhythmtrain.assess.findings import EntryFinding, Findings, Mistake, Try
from rhythmtrain.assess.free_entries import Heard, free_entries
from rhythmtrain.assess.free_lines import Read, extra_lines, note_lines
from rhythmtrain.assess.free_offsets import Offsets, offsets_in
from rhythmtrain.assess.free_pieces import Asked, Go, fullest, goes
from rhythmtrain.assess.free_refusal import opinion
from rhythmtrain.assess.free_remarks import remarks_on
from rhythmtrain.assess.free_row import local_stretch, row_of, units_of
from rhythmtrain.assess.free_tempo import search
from rhythmtrain.assess.free_walk import filter_for, fit
from rhythmtrain.assess.lines import bar_lines, tally_of
from rhythmtrain.assess.mistakes import mistakes_of
from rhythmtrain.assess.offsets import habit_known_to_s, spread_of, theil_sen
from rhythmtrain.assess.written import written_of
from rhythmtrain.capture.take import Take
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.timing.timeline import Timeline

SHUFFLE_SEED = 20
FEWEST_FOR_DRIFT = 8
# With a start that is given, what was heard this long before it is not the passage.
BEFORE_START_S = 1.0
# The take may be twice as fast as the timeline, so notes this much closer may be meant.
SLOWEST = 0.5


def free_findings(timeline: Timeline, take: Take, *, start_s: float | None = None) -> Findings:
    """Return what was heard of ``take``, played in free tempo, held against ``timeline``.

    ``timeline`` need be only about as fast as the take, within a factor of two.  ``start_s`` is
    the second of the take at which bar 1 begins, where that is known.

    Raises:
        TakeError: nothing was heard, or nothing that belongs to the passage.
        RequestError: the passage gives the player no notes.
    """
    asked = _asked(timeline, take, start_s)
    tries = goes(asked)
    if not tries:
        raise TakeError(
            f"nothing in {take.name} belongs to the passage: check that it is the right passage "
            "and the right bars"
        )
    shown = fullest(tries)
    read = _read(timeline, asked, tries[shown])
    judged = _judged(timeline, read)
    notes = note_lines(timeline, read, judged.offsets)
    extras = extra_lines(timeline, read, notes)
    told = tuple(_try_of(timeline, asked, go) for go in tries)
    uncertainty = float(np.median([each.uncertainty_s for each in take.heard]))
    rng = np.random.default_rng(SHUFFLE_SEED)
    return Findings(
        timing="free",
        speed=timeline.practice.speed / read.row.stretch,
        tempo_found=True,
        looks_like=opinion(asked, tries[shown], rng),
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
        remarks=remarks_on(timeline, read, told, shown),
    )


@dataclass(frozen=True, slots=True)
class _Judged:
    """The offsets of the matched notes, the mistakes and the entries of one try."""

    offsets: Offsets
    mistakes: tuple[Mistake, ...]
    entries: tuple[EntryFinding, ...]


def _asked(timeline: Timeline, take: Take, start_s: float | None) -> Asked:
    """Return what is to be found: the player's notes, and the claps, each heard once."""
    written = written_of(timeline)
    if not len(written.times_s):
        raise RequestError("the passage has no notes to play, so there is nothing to check")
    times = np.array(take.times_s, dtype=np.float64)
    if start_s is not None:
        times = times[times >= start_s + min(0.0, float(written.times_s[0])) - BEFORE_START_S]
    if not len(times):
        raise TakeError(
            f"nothing was heard in {take.name}: check that the recording is not silent and that "
            "the microphone was near"
        )
    gaps = np.diff(written.times_s)
    heard = times[single(times, SLOWEST * float(np.min(gaps)) if len(gaps) else np.inf)]
    units = units_of(timeline, written.index.tolist())
    return Asked(written.times_s, units, written.place.tolist(), heard)


def _read(timeline: Timeline, asked: Asked, go: Go) -> Read:
    """Return the try with the model of how freely it was played."""
    own = written_of(timeline).index.tolist()
    notes = [own[rank] for rank, _ in go.pairs]
    times = [float(asked.played_s[clap]) for _, clap in go.pairs]
    row = row_of(timeline, notes, times, {own[rank] for _, rank in go.breaks})
    speeds = np.array([timeline.tempo.speed_at(timeline.notes[note].at) for note in notes])
    gains = filter_for(row, fit(row))
    return Read(own, notes, row, gains, local_stretch(row) / speeds, go, asked.played_s)


def _judged(timeline: Timeline, read: Read) -> _Judged:
    """Return mistakes first, then what is left for the single notes, then the entries."""
    places = chances(timeline)
    found = search(places, read.notes, read.row, read.gains, read.quarters_s)
    inside = {
        note for note, reached in zip(read.own, read.reached().tolist(), strict=True) if reached
    }
    heard = Heard(read.notes, read.row, read.gains, read.quarters_s)
    return _Judged(
        offsets_in(found.left, read.gains, read.notes, found.moved_s),
        mistakes_of(timeline, found.wrong, places),
        free_entries(timeline, heard, inside),
    )


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
