"""The verdict on every note: in time, early, late, missed, not checked.

A note is *in time* inside the line that 95 of 100 honest notes keep around the player's own habit,
*early* or *late* beyond it.  It is *plain* only beyond the 99 % line and where it also stands out
from the player's own unevenness: whoever is uneven is told that, once, and not blamed note by
note.  A note that comes early or late in two of three repeats, on the same side, is plain too.

A row of missed notes means that the player was lost: those notes are not checked, and the place
where they were back in is told.
"""

from collections import defaultdict
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.findings import Verdict
from rhythmtrain.assess.offsets import ROBUST

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

OWN_SPREADS = 3.0
MOST_WIDENED = 1.6
LOST_NOTES = 5
LONE_PAIRS = 1
FEWEST_REPEATS = 3
AGAIN_SHARE = 2 / 3


@dataclass(frozen=True, slots=True)
class Judged:
    """Verdicts of the written notes, with what they stand on; one item a note."""

    away_s: Floats
    window_s: Floats
    verdict: tuple[Verdict, ...]
    plain: Bools


def judge(
    away_s: Floats, checked: Bools, places: Ints, *, window_s: Floats, outer_s: Floats
) -> Judged:
    """Return the verdicts.

    ``away_s`` is each note's distance from the player's habit, NaN where it was not played;
    ``checked`` says which notes count; ``places`` is equal for notes that repeat each other;
    ``window_s`` and ``outer_s`` are the distances within which 95 and 99 of 100 honest notes lie.
    """
    heard = np.isfinite(away_s) & checked
    size = np.where(heard, np.abs(away_s), 0.0)
    out = size > window_s
    own = OWN_SPREADS * ROBUST * float(np.median(size[heard])) if heard.any() else 0.0
    plain = size > np.clip(own, outer_s, MOST_WIDENED * outer_s)
    plain |= _again(np.where(out, np.sign(away_s), 0.0), heard, places)
    names = np.where(out, np.where(np.nan_to_num(away_s) > 0, "late", "early"), "in time")
    names = np.where(heard, names, "missed")
    names = np.where(checked, names, "not checked")
    missed = checked & ~heard
    return Judged(away_s, window_s, tuple(Verdict(str(name)) for name in names), plain | missed)


def _again(side: Floats, heard: Bools, places: Ints) -> Bools:
    """Return True for notes that come on the same wrong side in two of three repeats."""
    told = np.zeros(len(side), dtype=np.bool_)
    groups: dict[int, list[int]] = defaultdict(list)
    for note in np.flatnonzero(heard).tolist():
        groups[int(places[note])].append(note)
    for notes in groups.values():
        if len(notes) < FEWEST_REPEATS:
            continue
        for wrong in (-1.0, 1.0):
            here = side[notes] == wrong
            if np.sum(here) >= AGAIN_SHARE * len(notes):
                told[np.array(notes)[here]] = True
    return told


def lost_rows(heard: Bools, checked: Bools) -> tuple[tuple[int, int], ...]:
    """Return (first, past-last) of each row of at least five missed notes.

    A single note hit by chance amid missed ones does not end the row.
    """
    state = heard & checked
    alone = state.copy()
    for note in np.flatnonzero(state).tolist():
        before, after = state[max(note - 2, 0) : note], state[note + 1 : note + 3]
        alone[note] = before.any() or after.any() or not len(before) or not len(after)
    missing = checked & ~alone
    edges = np.flatnonzero(np.diff(np.concatenate(([False], missing, [False])).astype(np.int8)))
    rows = zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True)
    return tuple((first, stop) for first, stop in rows if stop - first >= LOST_NOTES)
