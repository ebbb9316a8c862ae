"""Phrases after a rest: how each of them came in, put into the plan of the try.

A phrase that came in at another count keeps the base it is judged from and gets a shift, so that
its notes are compared with where the player was, and its entry with where it should have been.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.entries import MOST_BARS_OUT, Came, came_in
from rhythmtrain.assess.matching import pairs, windows_s
from rhythmtrain.assess.plan import SPARE_NOTES, Known, Part, Plan
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


def enter_phrases(
    plan: Plan, played_s: Floats, written: Written, known: Known
) -> tuple[tuple[int, Came], ...]:
    """Return (note, how it came in) for every entry that can be judged; the plan takes them in.

    Where the start was found by the playing, the first entry is what it was found by.
    """
    came = []
    for note in known.entries:
        if plan.part[note] < 0:
            _reach_on(plan, note, known.entries)
        number = int(plan.part[note])
        if number < 0 or not (plan.parts[number].given or note > plan.parts[number].first):
            continue
        stop = _phrase_stop(note, known.entries, plan.part)
        came.append((note, _enter(plan, note, stop, played_s, written)))
    return tuple(came)


def _reach_on(plan: Plan, note: int, entries: tuple[int, ...]) -> None:
    """Let the last part reach on to the phrase after a rest, where claps are left for it.

    A phrase of a few notes that came in at another count is too short to be followed by itself.
    """
    part = plan.parts[-1]
    if not 0 <= note - part.stop <= SPARE_NOTES or part.high >= plan.end_clap:
        return
    later = [entry for entry in entries if entry > note]
    stop = min([*later, len(plan.part)])
    plan.parts[-1] = replace(part, stop=stop)
    plan.part[part.stop : stop] = len(plan.parts) - 1


def _phrase_stop(note: int, entries: tuple[int, ...], part: Ints) -> int:
    """Return the note after the last of the phrase that ``note`` enters with."""
    later = [entry for entry in entries if entry > note]
    same = np.flatnonzero(part == part[note])
    return min([*later, int(same[-1]) + 1])


def _enter(plan: Plan, note: int, stop: int, played_s: Floats, written: Written) -> Came:
    """Return how the phrase came in; where it came shifted, plan it so."""
    number = int(plan.part[note])
    part = plan.parts[number]
    limit = plan.parts[number + 1].low if number + 1 < len(plan.parts) else plan.end_clap
    claps = played_s[part.low : limit]
    expected = written.times_s[note:stop] + plan.base_s[note]
    beat, bar = float(written.beat_s[note]), float(written.bar_s[note])
    habit, last = _before(plan, note, part, claps, written)
    came = came_in(
        expected,
        claps[(claps > last) & (claps < expected[-1] + _room_after(stop, written, bar))] - habit,
        beat_s=beat,
        bar_s=bar,
        least_s=last - habit - float(expected[0]),
    )
    if came.heard:
        plan.shift_s[note:stop] = came.shift_s if came.beats is None else came.beats * beat
        plan.centre_s[note:stop] = plan.base_s[note] + came.shift_s + habit
        last_aim = expected[-1] + came.shift_s + habit + beat / 2
        high = part.low + int(np.searchsorted(claps, last_aim))
        plan.parts[number] = replace(part, high=max(part.high, high))
    return came


def _room_after(stop: int, written: Written, bar_s: float) -> float:
    """Return for how long after its last note claps may still belong to a phrase, in seconds."""
    most = (MOST_BARS_OUT + 1) * bar_s
    if stop >= len(written.times_s):
        return most
    return min(most, float(written.times_s[stop] - written.times_s[stop - 1]) / 2)


def _before(
    plan: Plan, note: int, part: Part, claps: Floats, written: Written
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
