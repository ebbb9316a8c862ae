"""One try as played: which clap stands for which note, and from where each note is judged.

After a miscounted rest the notes that follow are as right among themselves as ever, and are
judged so: against the base and shift of their phrase (see ``plan``).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.entries import Came
from rhythmtrain.assess.leftovers import pair_leftovers
from rhythmtrain.assess.matching import pairs, windows_s
from rhythmtrain.assess.phrases import enter_phrases
from rhythmtrain.assess.plan import Break, Known, Part, Plan, planned
from rhythmtrain.assess.tries import Attempt
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


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
    attempt: Attempt, played_s: Floats, written: Written, *, known: Known, end_clap: int
) -> Rendition:
    """Return the try as played; ``end_clap`` is the first clap that belongs to a later try."""
    plan = planned(attempt, written, known, end_clap)
    came = enter_phrases(plan, played_s, written, known)
    clap, extras = _paired(played_s, written, plan)
    _settle(played_s, written, plan, clap)
    return Rendition(
        plan.base_s,
        plan.shift_s,
        clap,
        plan.part,
        tuple(plan.parts),
        extras,
        came,
        tuple(plan.breaks),
        plan.shift_beats,
    )


def _paired(played_s: Floats, written: Written, plan: Plan) -> tuple[Ints, tuple[int, ...]]:
    """Return for each note its clap (or -1), and the claps that belong to none."""
    clap = np.full(len(written.times_s), -1, dtype=np.intp)
    extras: list[int] = []
    for part in plan.parts:
        span = slice(part.first, part.stop)
        heard = played_s[part.low : part.high]
        aims = np.maximum.accumulate(written.times_s[span] + plan.centre_s[span])
        notes, hits = pairs(aims, heard, windows_s(written.times_s)[span])
        notes, hits = pair_leftovers(aims, heard, written.beat_s[span], notes, hits)
        clap[part.first + notes] = part.low + hits
        extras += (part.low + np.setdiff1d(np.arange(len(heard)), hits)).tolist()
    return clap, tuple(extras)


def _settle(played_s: Floats, written: Written, plan: Plan, clap: Ints) -> None:
    """Move the base of parts whose start was found so that their median offset is nothing."""
    for number, part in enumerate(plan.parts):
        mine = np.flatnonzero((plan.part == number) & (clap >= 0))
        if part.given or not len(mine):
            continue
        late = played_s[clap[mine]] - written.times_s[mine]
        late = late - plan.base_s[mine] - plan.shift_s[mine]
        plan.base_s[part.first : part.stop] += np.median(late)
