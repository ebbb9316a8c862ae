"""Entries in free playing over a recording: held against where the accompanist really is.

The recording says to a few milliseconds where an entry belongs, however long the rest was; that is
what free playing alone cannot tell.  The first notes of the phrase are asked together, so that one
late note is no miscount; the tune may float after them.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.entries import SURE
from rhythmtrain.assess.entry_words import class_words
from rhythmtrain.assess.findings import EntryFinding, Verdict
from rhythmtrain.assess.free.entries import HARDLY_RIGHT, came
from rhythmtrain.assess.meeting.floating_phrase import Reading, readings
from rhythmtrain.assess.offsets import beyond_s
from rhythmtrain.assess.written import Written
from rhythmtrain.assess.wrong_cue import SameCue, same_cues
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]

FIRST_NOTES = 6
TWO_SIDED = 1.96
HALF_BEAT, HALF_NEAR = 0.5, 0.15
CUE_NEAR = 0.01
# How far from its class an honest entry lies, in beats: 95 of 100 notes of professionals beside a
# recording come within .15 of a beat (``tolerance``), and a habit of up to .08 s is left in.
HONEST_BEATS = 0.10


@dataclass(frozen=True, slots=True)
class Came:
    """How an entry came: by how many beats late (None: no count fits), and the cue it followed."""

    beats: float | None
    late_beats: float
    beats_a_bar: float
    wrong_cue: int | None = None


def moved_by(
    timeline: Timeline, written: Written, late_s: Floats, window_s: Floats
) -> dict[int, Came]:
    """Return how each entry that was played came in, by its number among the player's notes.

    ``late_s`` and ``window_s`` (n,) are played minus the recording's time, NaN where a note was not
    played, and how far 95 of 100 honest notes stay.
    """
    rank = {int(index): number for number, index in enumerate(written.index)}
    cues = same_cues(timeline)
    starts = sorted(rank[entry.note] for entry in timeline.entries)
    found = {}
    for entry in timeline.entries:
        note = rank[entry.note]
        if np.isfinite(late_s[note]):
            stop = min([start for start in starts if start > note], default=len(late_s))
            first = [
                each
                for each in range(note, min(note + FIRST_NOTES, stop))
                if np.isfinite(late_s[each])
            ]
            after = (written.at[first] - written.at[note]) / written.beat_quarters[note]
            late = [written.beats_late(each, float(late_s[each])) for each in first]
            error = float(window_s[note]) / TWO_SIDED / float(written.beat_s[note])
            bar = float(written.bar_quarters[note] / written.beat_quarters[note])
            read = readings(after.tolist(), late, error)
            found[note] = _came(read, bar, cues.get(entry.note, ()))
    return found


def _came(read: tuple[Reading, ...], beats_a_bar: float, cues: tuple[SameCue, ...]) -> Came:
    """Return the class of an entry that may be ``read`` so."""
    elsewhere = tuple(cue.beats for cue in cues)
    each = [came(one.late, one.error, beats_a_bar, elsewhere, honest=HONEST_BEATS) for one in read]
    posterior = {
        beats: sum(one.share * found[beats] for one, found in zip(read, each, strict=True))
        for beats in each[0]
    }
    late = max(read, key=lambda one: one.share).late
    best = max(posterior, key=lambda each: posterior[each])
    if posterior[best] >= SURE or (not best and posterior[best] > HARDLY_RIGHT):
        cue = next((each.bar for each in cues if abs(each.beats - best) < CUE_NEAR), None)
        return Came(best, late, beats_a_bar, cue if best else None)
    right = posterior[0.0] > HARDLY_RIGHT
    return Came(0.0 if right else None, late, beats_a_bar)


def entries_met(
    entries: tuple[EntryFinding, ...],
    timeline: Timeline,
    written: Written,
    heard: tuple[Floats, float, Floats],
    found: dict[int, Came],
) -> tuple[EntryFinding, ...]:
    """Return the findings of the entries, those in ``found`` held against the recording.

    ``heard`` are lateness (n,), the player's habit, and windows (n,), in seconds.
    """
    rank = {int(index): number for number, index in enumerate(written.index)}
    lines = []
    for entry, finding in zip(timeline.entries, entries, strict=True):
        note = rank[entry.note]
        if note not in found:
            lines.append(finding)
            continue
        late_s, habit_s, window_s = heard
        away = beyond_s(float(late_s[note]), habit_s)
        verdict, sentence = _told(found[note], away, float(window_s[note]), written, note)
        lines.append(
            replace(
                finding,
                offset_s=float(late_s[note]),
                offset_beats=written.beats_late(note, float(late_s[note])),
                verdict=verdict,
                sentence=sentence,
                wrong_cue=found[note].wrong_cue,
            )
        )
    return tuple(lines)


def _told(
    how: Came, away_s: float, window_s: float, written: Written, note: int
) -> tuple[str, str]:
    """Return the class in words, and what else is to be said."""
    side = "late" if away_s > 0 else "early"
    if how.beats:
        words = class_words(how.beats, how.beats_a_bar)
        return words, words
    beats = abs(written.beats_late(note, away_s))
    if math.isclose(beats, HALF_BEAT, abs_tol=HALF_NEAR):
        return f"half a beat {side}", f"half a beat {side}"
    if how.beats is None:
        return "drifted", f"about {abs(how.late_beats):.1f} beats {side}: the count drifted"
    if abs(away_s) <= window_s:
        return str(Verdict.IN_TIME), ""
    return str(Verdict.LATE if away_s > 0 else Verdict.EARLY), ""
