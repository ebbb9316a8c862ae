"""Phrases after a rest: how each of them came in, put into the plan of the try.

A phrase that came in at another count keeps the base it is judged from and gets a shift, so that
its notes are compared with where the player was, and its entry with where it should have been.
"""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.entries import MOST_BARS_OUT, Came, Phrase, came_in
from rhythmtrain.assess.matching.matching import pairs, windows_s
from rhythmtrain.assess.matching.plan import SPARE_NOTES, Known, Part, Plan
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

# Where nothing keeps time, a tempo is known to so much of itself, and each silent beat counted to so much
# of a beat: after six bars half a beat tells nothing.
TEMPO_ERROR, COUNT_ERROR = 0.01, 0.03


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
        notes = slice(note, _phrase_stop(note, known.entries, plan.part))
        how = _enter(plan, notes, played_s, written, known)
        came.append((note, how))
        if not known.clicked:
            _go_on_from(plan, notes, how, written)
    return tuple(came)


def _go_on_from(plan: Plan, notes: slice, how: Came, written: Written) -> None:
    """Let what follows be judged from where the player was, where nothing is known to have gone on.

    Who came in a beat late has then counted the next rest rightly, and is not told of it again.
    """
    beats = how.late_beats if how.beats is None else how.beats
    later = np.flatnonzero(plan.part == plan.part[notes.start])
    later = later[later >= notes.stop]
    if len(later):
        onward = slice(notes.stop, int(later[-1]) + 1)
        plan.base_s[onward] += written.later_s(onward, beats, notes.start)


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


def _enter(plan: Plan, notes: slice, played_s: Floats, written: Written, known: Known) -> Came:
    """Return how the phrase came in; where it came shifted, plan it so."""
    note, number = notes.start, int(plan.part[notes.start])
    part = plan.parts[number]
    limit = plan.parts[number + 1].low if number + 1 < len(plan.parts) else plan.end_clap
    claps = played_s[part.low : limit]
    habit, last = _before(plan, note, part, claps, written)
    base = float(plan.base_s[note])
    expected = written.times_s[notes] + base
    elsewhere = known.elsewhere.get(note, ())
    room = _room_after(notes, written, elsewhere)
    asked = claps[(claps > last) & (claps < expected[-1] + room)] - habit
    phrase = _phrase(notes, written, base, elsewhere, last - habit - expected[0])
    if not known.clicked:
        phrase = replace(phrase, unsure_s=_counted_s(note, written))
    came = came_in(phrase, asked)
    if came.heard:
        beats = came.late_beats if came.beats is None else came.beats
        plan.shift_s[notes] = written.later_s(notes, beats, note)
        plan.centre_s[notes] = base + written.later_s(notes, came.late_beats, note) + habit
        last_aim = written.times_s[notes.stop - 1] + plan.centre_s[notes.stop - 1]
        high = int(np.searchsorted(claps, last_aim + written.beat_s[note] / 2))
        plan.parts[number] = replace(part, high=max(part.high, part.low + high))
    return came


def _phrase(
    notes: slice, written: Written, base_s: float, elsewhere: tuple[float, ...], least_s: float
) -> Phrase:
    """Return ``notes`` as a phrase to come in with; ``base_s`` is where bar 1 begins."""
    beat = float(written.beat_quarters[notes.start])
    return Phrase(
        written.at[notes] / beat,
        lambda beats: written.pace.second(beats * beat) + base_s,
        bar=float(written.bar_quarters[notes.start]) / beat,
        least_s=least_s,
        unsure_s=float(written.unsure_s[notes.start]),
        elsewhere=elsewhere,
    )


def _counted_s(note: int, written: Written) -> float:
    """Return the standard error of an entry that nothing but an inner count led to, in seconds."""
    beat = float(written.beat_s[note])
    beats = float(written.times_s[note] - written.times_s[max(note - 1, 0)]) / beat
    return beat * float(np.hypot(beats * TEMPO_ERROR, np.sqrt(beats + 1) * COUNT_ERROR))


def _room_after(notes: slice, written: Written, elsewhere: tuple[float, ...]) -> float:
    """Return for how long after its last note claps may still belong to a phrase, in seconds."""
    note, stop = notes.start, notes.stop
    far = max((0.0, *elsewhere)) * float(written.beat_s[note])
    most = max((MOST_BARS_OUT + 1) * float(written.bar_s[note]), far)
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
