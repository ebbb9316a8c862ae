"""One try as played: which clap stands for which note, and from where each note is judged.

The *base* of a note is the second of the take at which bar 1 would begin for whoever judges it:
the start that was given, or the one that was found.  After a step back, or a stop that is not a
whole number of beats long, it is found anew; after an entry at the wrong time it stays, because
the accompaniment did not wait.  The *shift* of a note is by how much its whole phrase came away
from the base: after a miscounted rest the notes that follow are as right among themselves as
ever, and are judged so.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.entries import Came, came_in
from rhythmtrain.assess.leftovers import pair_leftovers
from rhythmtrain.assess.matching import pairs, windows_s
from rhythmtrain.assess.tries import Attempt, Piece
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

NEAR_BEAT = 0.20
NEAR_START_BEATS = 0.35
MOST_SHIFT_BARS = 2
SPARE_NOTES = 2


@dataclass(frozen=True, slots=True)
class Break:
    """A place where the player stopped or leapt: after one note and on at another.

    ``beats`` is None for a stop after which time began anew, else how many beats late (positive)
    the player went on.
    """

    last_note: int
    next_note: int
    beats: float | None


@dataclass(slots=True)
class _Plan:
    """What is filled in, piece by piece: one item a note."""

    base_s: Floats
    shift_s: Floats
    centre_s: Floats
    part: Ints


@dataclass(frozen=True, slots=True)
class Part:
    """Notes ``first`` to before ``stop`` played in one go, with claps ``low`` to before ``high``.

    ``given`` is True where the base is the start that was given.
    """

    first: int
    stop: int
    low: int
    high: int
    given: bool


@dataclass(frozen=True, slots=True)
class Rendition:
    """One try as played; arrays have one item for each written note.

    ``clap`` is -1 where no clap stands for the note; ``part`` is the index in ``parts``, -1 for
    notes outside what was played.  ``came`` gives (note, how it came) for each entry.
    ``shift_beats`` is by how much everything was away from a given start.
    """

    base_s: Floats
    shift_s: Floats
    clap: Ints
    part: Ints
    parts: tuple[Part, ...]
    extras: tuple[int, ...]
    came: tuple[tuple[int, Came], ...]
    breaks: tuple[Break, ...]
    shift_beats: float | None


def rendered(
    attempt: Attempt,
    played_s: Floats,
    written: Written,
    *,
    entries: tuple[int, ...],
    start_s: float | None,
    clicked: bool,
) -> Rendition:
    """Return the try as played.

    ``entries`` are the written notes that are entries, ``start_s`` the start where it is given,
    ``clicked`` says that something kept time, so that a leap of whole beats is a shift.
    """
    base, shift_beats = _opening(attempt.pieces[0], written, start_s)
    given = base is not None
    origin = attempt.pieces[0].origin_s if base is None else base
    plan, parts, breaks = _planned(attempt, written, entries, origin, clicked=clicked)
    parts[0] = Part(parts[0].first, parts[0].stop, parts[0].low, parts[0].high, given)
    if shift_beats is not None:
        plan.shift_s[: parts[0].stop] += shift_beats * written.beat
    came = []
    for note in entries:
        if plan.part[note] >= 0 and (given or note > parts[plan.part[note]].first):
            stop = _phrase_stop(note, entries, plan.part)
            came.append((note, _enter(note, stop, played_s, written, plan, parts)))
    clap, extras = _paired(played_s, written, plan, parts)
    _settle(played_s, written, plan, parts, clap)
    return Rendition(
        plan.base_s,
        plan.shift_s,
        clap,
        plan.part,
        tuple(parts),
        extras,
        tuple(came),
        tuple(breaks),
        shift_beats,
    )


def _opening(
    piece: Piece, written: Written, start_s: float | None
) -> tuple[float | None, float | None]:
    """Return the base to judge from (None: found) and by how many beats everything is shifted."""
    if start_s is None:
        return None, None
    beat = float(written.beat_s[piece.first_note])
    beats = (piece.origin_s - start_s) / beat
    if abs(beats) < NEAR_START_BEATS:
        return start_s, None
    if abs(beats) * beat > MOST_SHIFT_BARS * float(written.bar_s[piece.first_note]) + beat:
        return None, None
    halves = round(2 * beats) / 2
    return start_s, halves if abs(beats - halves) < NEAR_BEAT else round(beats, 1)


def _planned(
    attempt: Attempt, written: Written, entries: tuple[int, ...], origin: float, *, clicked: bool
) -> tuple[_Plan, list[Part], list[Break]]:
    """Return base, shift and centre of every note, the parts, and the breaks between them."""
    count = len(written.times_s)
    pieces = attempt.pieces
    plan = _Plan(
        np.full(count, origin), np.zeros(count), pieces[0].centre_s.copy(), np.full(count, -1)
    )
    first = _bar_opening(written, attempt.pieces[0].first_note)
    parts = [Part(first, count, pieces[0].first_clap, pieces[0].last_clap + 1, given=False)]
    breaks: list[Break] = []
    for before, piece in pairwise(pieces):
        note = piece.first_note
        plan.centre_s[note:] = piece.centre_s[note:]
        beats = (piece.origin_s - plan.base_s[note] - plan.shift_s[note]) / written.beat_s[note]
        forward = note > before.last_note
        at_entry = any(before.last_note < entry <= note for entry in entries)
        whole = clicked and abs(beats - round(beats)) < NEAR_BEAT
        if forward and (at_entry or whole):
            parts[-1] = _longer(parts[-1], piece)
            if not at_entry:
                plan.shift_s[note:] += round(beats) * written.beat_s[note]
                breaks.append(Break(before.last_note, note, float(round(beats))))
            continue
        breaks.append(Break(before.last_note, note, None))
        plan.base_s[note:], plan.shift_s[note:] = piece.origin_s, 0.0
        parts[-1] = _cut(parts[-1], note, before)
        parts.append(Part(note, count, piece.first_clap, piece.last_clap + 1, given=False))
    last = parts[-1]
    stop = _bar_close(written, pieces[-1].last_note)
    parts[-1] = Part(last.first, stop, last.low, last.high, last.given)
    for number, part in enumerate(parts):
        plan.part[part.first : part.stop] = number
    plan.part[stop:] = -1
    return plan, parts, breaks


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


def _longer(part: Part, piece: Piece) -> Part:
    return Part(part.first, part.stop, part.low, piece.last_clap + 1, part.given)


def _cut(part: Part, note: int, before: Piece) -> Part:
    """Return the part without the notes that were played again, and without their claps."""
    again = before.claps[before.notes >= note]
    high = int(again[0]) if len(again) else part.high
    return Part(part.first, note, part.low, max(part.low, high), part.given)


def _phrase_stop(note: int, entries: tuple[int, ...], part: Ints) -> int:
    """Return the note after the last of the phrase that ``note`` enters with."""
    later = [entry for entry in entries if entry > note]
    same = np.flatnonzero(part == part[note])
    return min([*later, int(same[-1]) + 1])


def _enter(
    note: int, stop: int, played_s: Floats, written: Written, plan: _Plan, parts: list[Part]
) -> Came:
    """Return how the phrase came in; where it came shifted, plan it so."""
    part = parts[plan.part[note]]
    claps = played_s[part.low : part.high]
    expected = written.times_s[note:stop] + plan.base_s[note]
    beat = float(written.beat_s[note])
    habit, last = _before(note, part, claps, written, plan)
    came = came_in(
        expected,
        claps[claps > last] - habit,
        beat_s=beat,
        bar_s=float(written.bar_s[note]),
        least_s=last - habit - float(expected[0]),
    )
    if came.heard:
        right = came.beats == 0
        plan.shift_s[note:stop] = 0.0 if right else came.shift_s
        if came.beats:
            plan.shift_s[note:stop] = came.beats * beat
        aim = came.shift_s + habit
        plan.centre_s[note:stop] = plan.base_s[note] + aim
    return came


def _before(
    note: int, part: Part, claps: Floats, written: Written, plan: _Plan
) -> tuple[float, float]:
    """Return the habit so far and the time of the last clap before the rest."""
    earlier = slice(part.first, note)
    aims = written.times_s[earlier] + plan.centre_s[earlier]
    if not len(aims):
        return 0.0, -np.inf
    notes, hits = pairs(aims, claps, windows_s(written.times_s)[earlier])
    if not len(notes):
        return 0.0, -np.inf
    base = plan.base_s[earlier] + plan.shift_s[earlier]
    late = claps[hits] - written.times_s[earlier][notes] - base[notes]
    return float(np.median(late)), float(claps[hits[-1]])


def _paired(
    played_s: Floats, written: Written, plan: _Plan, parts: list[Part]
) -> tuple[Ints, tuple[int, ...]]:
    """Return for each note its clap (or -1), and the claps that belong to none."""
    clap = np.full(len(written.times_s), -1, dtype=np.intp)
    extras: list[int] = []
    for part in parts:
        span = slice(part.first, part.stop)
        heard = played_s[part.low : part.high]
        aims = np.maximum.accumulate(written.times_s[span] + plan.centre_s[span])
        notes, hits = pairs(aims, heard, windows_s(written.times_s)[span])
        notes, hits = pair_leftovers(aims, heard, written.beat_s[span], notes, hits)
        clap[part.first + notes] = part.low + hits
        extras += (part.low + np.setdiff1d(np.arange(len(heard)), hits)).tolist()
    return clap, tuple(extras)


def _settle(played_s: Floats, written: Written, plan: _Plan, parts: list[Part], clap: Ints) -> None:
    """Move the base of parts whose start was found so that their median offset is nothing."""
    for number, part in enumerate(parts):
        mine = np.flatnonzero((plan.part == number) & (clap >= 0))
        if part.given or not len(mine):
            continue
        late = played_s[clap[mine]] - written.times_s[mine]
        late = late - plan.base_s[mine] - plan.shift_s[mine]
        plan.base_s[part.first : part.stop] += np.median(late)
