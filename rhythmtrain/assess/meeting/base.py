"""From where a take played freely over a recording is judged: its start, its habit, its moved phrases.

Only the places where tune and recording meet tell of it, so there is little to go by: what came at
another count is put aside first, and nothing far out is taken for a habit.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.meeting.entries import Came, moved_by
from rhythmtrain.assess.written import Written
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]

FEWEST_FOR_HABIT = 4
# How far ahead of a beat, or behind it, people play by habit; more than that is early or late.
MOST_HABIT_S = 0.080


def base_s(
    timeline: Timeline, written: Written, gaps_s: Floats, heard: tuple[list[int], Floats]
) -> float:
    """Return the second of the take at which bar 1 began for the player, as far as playing tells.

    ``gaps_s`` (n,) are the seconds from each note's time to when it was played, ``heard`` the notes
    that met the recording and how far honest notes stay.  Where the player first came in is taken for
    right, phrases that came at another count are moved beside it, and then all places tell.
    """
    met, window = heard
    starts = ranks_of(written, tuple(entry.note for entry in timeline.entries))
    second = min([start for start in starts if start > met[0]], default=len(gaps_s))
    phrase = [rank for rank in met if rank < second]
    base = float(np.median(gaps_s[phrase]))
    came = moved_by(timeline, written, gaps_s - base, window)
    own = gaps_s - moved_s(timeline, written, came)
    return float(np.median(own[met]))


def habit_s(own_s: Floats, window_s: Floats, met: list[int], *, given: bool) -> float:
    """Return how late the player is by habit: only a given start shows it, and a few places.

    What came further off than habit and unsteadiness together explain is no habit.
    """
    near = [rank for rank in met if abs(own_s[rank]) <= MOST_HABIT_S + window_s[rank]]
    if not given or len(near) < FEWEST_FOR_HABIT:
        return 0.0
    return float(np.clip(np.median(own_s[near]), -MOST_HABIT_S, MOST_HABIT_S))


def moved_s(timeline: Timeline, written: Written, came: dict[int, Came]) -> Floats:
    """Return by how much each note's phrase was moved, from each entry to the next."""
    moved = np.zeros(len(written.at))
    starts = ranks_of(written, tuple(entry.note for entry in timeline.entries))
    for note, each in came.items():
        stop = min([start for start in starts if start > note], default=len(moved))
        moved[note:stop] = written.later_s(slice(note, stop), each.beats or 0.0, note)
    return moved


def ranks_of(written: Written, notes: tuple[int, ...]) -> list[int]:
    """Return ``notes`` of the timeline as numbers among the player's own."""
    rank = {int(index): number for number, index in enumerate(written.index)}
    return [rank[note] for note in notes]
