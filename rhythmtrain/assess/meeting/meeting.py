"""Played freely over a recording: held against it only where the two must meet.

Expressive music is not played like a machine: the tune floats over the accompaniment and meets it
again.  So the take is read as freely played (``free.check``), note against neighbours, and order
and figure are judged so everywhere; but the places to meet are held against the recording, as
strictly as any note beside it.  These are the first notes of the bars that the drill names or,
where it names none, the entries, the first notes of phrases (after a rest of a beat or more) and
the last note.
"""

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.findings import EntryFinding, Findings, NoteFinding, Verdict
from rhythmtrain.assess.free.check import free_findings
from rhythmtrain.assess.free.entries import FIRST
from rhythmtrain.assess.free.remarks import FREE, why_not
from rhythmtrain.assess.judging.judging import Manner, lines_s
from rhythmtrain.assess.judging.lines import bar_lines
from rhythmtrain.assess.judging.remarks import FOUND, found_by
from rhythmtrain.assess.meeting.base import base_s, habit_s, moved_s, ranks_of
from rhythmtrain.assess.meeting.entries import Came, entries_met, moved_by
from rhythmtrain.assess.offsets import beyond_s, habit_known_to_s, spread_of
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.written import Written, written_of
from rhythmtrain.capture.take import Take
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]

MET = (
    "only the places where you meet the recording were held against it; between them each note "
    "was held against its neighbours"
)
NOT_MET = "none of the places where you meet the recording was played"
SLOWED = (
    "it was played at about {share} of the recording's speed, so it was not held against the "
    "recording: where that sounded so, say its speed"
)
# A tune floats, and a bar's miscount makes a short take a tenth slower; what is further from the
# recording's own speed was played to one that sounded slower, or faster.
NOT_ITS_OWN, ROUND_SHARE = 0.15, 0.05


@dataclass(frozen=True, slots=True)
class _Meeting:
    """A freely read take beside the recording; arrays have one item a note, NaN if not played.

    ``late_s`` is played minus the recording's time, ``moved_s`` by how much the note's phrase came
    in at another count.
    """

    written: Written
    base_s: float
    late_s: Floats
    moved_s: Floats
    habit_s: float


def meeting_findings(timeline: Timeline, take: Take, settings: Settings) -> Findings:
    """Return what was heard of a take played freely over the recording of ``timeline``.

    Raises:
        TakeError: nothing was heard, or nothing that belongs to the passage.
        RequestError: the passage gives the player no notes.
    """
    free = free_findings(timeline, take, start_s=settings.start_s)
    written = written_of(timeline)
    played = np.array([np.nan if n.played_s is None else n.played_s for n in free.notes])
    places = ranks_of(written, places_to_meet(timeline, settings.meet or ()))
    met = [rank for rank in places if np.isfinite(played[rank])]
    outdated = (FREE, *why_not(free.entries))
    remarks = tuple(each for each in free.remarks if each not in outdated)
    slowed = settings.speed is None and abs(free.speed - 1) > NOT_ITS_OWN
    if slowed or not met:
        share = round(free.speed / ROUND_SHARE) * ROUND_SHARE
        why = SLOWED.format(share=f"{share:.3g}") if slowed else NOT_MET
        remarks = (*settings.remarks, why, *remarks)
        return replace(free, timing="recording", remarks=remarks)
    heard_s = float(np.median([each.uncertainty_s for each in take.heard]))
    onset_s = max(heard_s, settings.detector_uncertainty_s)
    lines = lines_s(written, Manner(clicked=True, recorded=True, uncertainty_s=onset_s))
    given = settings.start_s is not None
    first = int(np.flatnonzero(np.isfinite(played))[0])
    base = settings.start_s
    if base is None:
        places = [rank for rank in places if rank != first]
        base = base_s(timeline, written, played - written.times_s, (met, lines[0]))
    late = played - written.times_s - base
    came = _came(timeline, written, (late, lines[0]), places)
    habit = habit_s(late - moved_s(timeline, written, came), lines[0], met, given=given)
    came = _came(timeline, written, (late - habit, lines[0]), places)
    moved = moved_s(timeline, written, came)
    meeting = _Meeting(written, base, late, moved, habit)
    notes = tuple(
        _met(note, rank, meeting, lines) if rank in met else _between(note)
        for rank, note in enumerate(free.notes)
    )
    unsure = float(np.hypot(onset_s, np.median(written.unsure_s[met])))
    entries = entries_met(free.entries, timeline, written, (late, habit, lines[0]), came)
    found = () if given else (_found(timeline, int(written.index[first])),)
    return replace(
        free,
        timing="recording",
        speed=timeline.practice.speed,
        tempo_found=False,
        start="found" if found else "given",
        start_s=base,
        spread=spread_of(late[met] - moved[met], unsure),
        drift_percent=None,
        uncertainty_s=habit_known_to_s(len(met), unsure),
        notes=notes,
        entries=entries,
        bars=bar_lines(notes, free.extras),
        remarks=(*settings.remarks, *remarks, MET, *found, *why_not(_after(entries, given=given))),
    )


def places_to_meet(timeline: Timeline, bars: Collection[int] = ()) -> tuple[int, ...]:
    """Return the notes of the timeline at which tune and recording must meet, in order.

    ``bars`` are the bars named, as printed; without any, the usual places are taken.
    """
    chosen = _of_bars(timeline, bars) if bars else _usual(timeline)
    return tuple(sorted({note for note in chosen if timeline.notes[note].expected}))


def _of_bars(timeline: Timeline, bars: Collection[int]) -> Iterator[int]:
    """Yield the first note of each of ``bars``, as often as it comes."""
    seen: set[int] = set()
    for number, note in enumerate(timeline.notes):
        if note.place not in seen and note.note.bar in bars:
            seen.add(note.place)
            yield number


def _usual(timeline: Timeline) -> Iterator[int]:
    """Yield entries, the first notes of phrases, and the last note of each run."""
    yield from (entry.note for entry in timeline.entries)
    before = None
    for number, note in enumerate(timeline.notes):
        beat = timeline.bars[note.place].bar.metre.beats[0].length
        if before is None or before.run != note.run:
            yield from (number, *([number - 1] if before is not None else []))
        elif note.at - before.at - before.note.length >= beat:
            yield number
        before = note
    yield from ([len(timeline.notes) - 1] if timeline.notes else [])


def _found(timeline: Timeline, first: int) -> str:
    """Return what cannot be told where the start was found; ``first`` is the first note played."""
    entries = {entry.note for entry in timeline.entries}
    return found_by(timeline.notes[first].note.bar) if first in entries else FOUND


def _after(entries: tuple[EntryFinding, ...], *, given: bool) -> tuple[EntryFinding, ...]:
    """Return the entries of which nothing was said yet: without a start, all but the first."""
    return tuple(each for each in entries if given or each.sentence != FIRST)


def _came(
    timeline: Timeline, written: Written, heard: tuple[Floats, Floats], places: list[int]
) -> dict[int, Came]:
    """Return how the entries among ``places`` came in; ``heard`` are lateness and windows (n,)."""
    moved = moved_by(timeline, written, *heard)
    return {note: each for note, each in moved.items() if note in places}


def _met(
    note: NoteFinding, rank: int, meeting: _Meeting, lines: tuple[Floats, Floats]
) -> NoteFinding:
    """Return a note held against the recording."""
    late = float(meeting.late_s[rank])
    away = beyond_s(late - float(meeting.moved_s[rank]), meeting.habit_s)
    window, outer = float(lines[0][rank]), float(lines[1][rank])
    verdict = Verdict.IN_TIME
    if abs(away) > window:
        verdict = Verdict.LATE if away > 0 else Verdict.EARLY
    return replace(
        note,
        expected_s=meeting.base_s + float(meeting.written.times_s[rank]),
        offset_s=late,
        verdict=verdict,
        plain=abs(away) > outer,
        window_s=window,
        away_s=away,
        meets=True,
    )


def _between(note: NoteFinding) -> NoteFinding:
    """Return a note as it was held against its neighbours."""
    return replace(note, away_s=note.offset_s)
