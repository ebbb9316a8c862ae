"""The plan of one try: from where every note is judged, and which claps it may have.

The *base* of a note is the second of the take at which bar 1 would begin for whoever judges it:
the start that was given, or the one that was found.  After a step back, or a stop that is not a
whole number of beats long, it is found anew; after an entry at the wrong time it stays, because
the accompaniment did not wait.  The *shift* of a note is by how much its whole phrase came away
from the base.  The *centre* is where the claps are looked for.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.matching.pieces import Piece
from rhythmtrain.assess.matching.tries import NEAR_START_BEATS, Attempt
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

NEAR_BEAT = 0.20
MOST_SHIFT_BARS = 2
SPARE_NOTES = 2
STRAY_PAIRS = 2
NOT_PLAYED = -1


@dataclass(frozen=True, slots=True)
class Known:
    """What is known beforehand.

    ``entries`` are the written notes that are entries, ``start_s`` the start where it is given;
    ``clicked`` says that something kept time, so that a leap of whole beats is a shift.
    ``elsewhere`` gives for an entry the other places, in beats from it, that look like it.
    ``one_go`` says that nobody can have begun again.
    """

    entries: tuple[int, ...]
    start_s: float | None
    clicked: bool
    elsewhere: Mapping[int, tuple[float, ...]] = field(default_factory=dict)
    one_go: bool = False


@dataclass(frozen=True, slots=True)
class Break:
    """A place where the player stopped or leapt: after one note and on at another.

    ``beats`` is None for a stop after which time began anew, else how many beats late (positive)
    the player went on.
    """

    last_note: int
    next_note: int
    beats: float | None


@dataclass(frozen=True, slots=True)
class Part:
    """Notes ``first`` to before ``stop`` played in one go, with claps ``low`` to before ``high``.

    ``given`` is True where the base is the start that was given.
    """

    first: int
    stop: int
    low: int
    high: int
    given: bool = False


@dataclass(slots=True)
class Plan:
    """What is filled in piece by piece; arrays have one item a note.

    ``part`` is the index in ``parts``, -1 for notes outside what was played.  ``shift_beats`` is
    by how much everything was away from a given start; ``end_clap`` the first clap that belongs
    to a later try.
    """

    base_s: Floats
    shift_s: Floats
    centre_s: Floats
    part: Ints
    parts: list[Part]
    breaks: list[Break]
    shift_beats: float | None
    end_clap: int


def planned(attempt: Attempt, written: Written, known: Known, end_clap: int) -> Plan:
    """Return the plan of a try; ``end_clap`` is the first clap that belongs to a later one."""
    count = len(written.times_s)
    first = attempt.pieces[0]
    base, shift_beats = _opening(first, written, known.start_s)
    plan = Plan(
        np.full(count, first.origin_s if base is None else base),
        written.later_s(slice(0, count), shift_beats or 0.0, first.first_note),
        first.centre_s.copy(),
        np.full(count, NOT_PLAYED),
        [_part(first, _bar_opening(written, first.first_note), count, given=base is not None)],
        [],
        shift_beats,
        end_clap,
    )
    for before, piece in pairwise(attempt.pieces):
        _go_on(plan, before, piece, written, known)
    stop = _bar_close(written, attempt.pieces[-1].last_note)
    plan.parts[-1] = replace(plan.parts[-1], stop=stop)
    for number, part in enumerate(plan.parts):
        plan.part[part.first : part.stop] = number
    plan.part[stop:] = NOT_PLAYED
    return plan


def _opening(
    piece: Piece, written: Written, start_s: float | None
) -> tuple[float | None, float | None]:
    """Return the base to judge from (None: found) and by how many beats everything is shifted."""
    if start_s is None:
        return None, None
    note = piece.first_note
    beats = written.beats_late(note, piece.opening_s - start_s)
    if abs(beats) < NEAR_START_BEATS:
        return start_s, None
    bar = float(written.bar_quarters[note] / written.beat_quarters[note])
    if abs(beats) > MOST_SHIFT_BARS * bar + 1:
        return None, None
    halves = round(2 * beats) / 2
    return start_s, halves if abs(beats - halves) < NEAR_BEAT else round(beats, 1)


def _go_on(plan: Plan, before: Piece, piece: Piece, written: Written, known: Known) -> None:
    """Put the next piece into the plan: as the same part shifted, or as a part of its own."""
    note = piece.first_note
    plan.centre_s[note:] = piece.centre_s[note:]
    beats = written.beats_late(note, piece.origin_s - float(plan.base_s[note]))
    beats -= written.beats_late(note, float(plan.shift_s[note]))
    reached = _before_entry(before, note, known.entries)
    at_entry = any(reached < entry <= note for entry in known.entries)
    whole = known.clicked and abs(beats - round(beats)) < NEAR_BEAT
    if note > reached and (at_entry or whole):
        plan.parts[-1] = replace(plan.parts[-1], high=piece.last_clap + 1)
        if not at_entry:
            plan.shift_s[note:] += written.later_s(slice(note, None), round(beats), note)
            plan.breaks.append(Break(before.last_note, note, float(round(beats))))
        return
    plan.breaks.append(Break(before.last_note, note, None))
    plan.base_s[note:], plan.shift_s[note:] = piece.origin_s, 0.0
    plan.parts[-1] = _cut(plan.parts[-1], note, before)
    plan.parts.append(_part(piece, note, len(written.times_s)))


def _part(piece: Piece, first: int, stop: int, *, given: bool = False) -> Part:
    return Part(first, stop, piece.first_clap, piece.last_clap + 1, given)


def _cut(part: Part, note: int, before: Piece) -> Part:
    """Return the part without the notes that were played again, and without their claps."""
    again = before.claps[before.notes >= note]
    high = int(again[0]) if len(again) else part.high
    return replace(part, stop=note, high=max(part.low, high))


def _before_entry(before: Piece, note: int, entries: tuple[int, ...]) -> int:
    """Return the last note played before a leap to ``note``.

    One or two chance pairs after an entry do not count, where the leap goes to that entry.
    """
    for entry in entries:
        after = int(np.sum(before.notes >= entry))
        if entry <= note <= entry + STRAY_PAIRS and 0 < after <= STRAY_PAIRS < len(before.notes):
            return int(before.notes[-after - 1])
    return before.last_note


def _bar_opening(written: Written, note: int) -> int:
    """Return the first note that counts as missed rather than not played: of the same bar."""
    if note <= SPARE_NOTES:
        return 0
    return int(np.searchsorted(written.place, written.place[note]))


def _bar_close(written: Written, note: int) -> int:
    """Return the first note after ``note`` that counts as not played rather than missed."""
    if len(written.times_s) - 1 - note <= SPARE_NOTES:
        return len(written.times_s)
    return int(np.searchsorted(written.place, written.place[note], side="right"))
