"""One try as played: which clap stands for which note, and from where each note is judged.

After a miscounted rest the notes that follow are as right among themselves as ever, and are
judged so: against the base and shift of their phrase (see ``plan``).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.entries import Came
from rhythmtrain.assess.matching.leftovers import REACH_BEATS, pair_leftovers
from rhythmtrain.assess.matching.matching import pairs, windows_s
from rhythmtrain.assess.matching.phrases import enter_phrases
from rhythmtrain.assess.matching.plan import Break, Known, Part, Plan, planned
from rhythmtrain.assess.matching.tries import Attempt
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
    """Return for each note its clap (or -1), and the claps that belong to none.

    A first or last note may be early or late like any other, so claps just outside the part are
    looked at too; those that nobody needs are talk and no extras.
    """
    clap = np.full(len(written.times_s), -1, dtype=np.intp)
    extras: list[int] = []
    for number, part in enumerate(plan.parts):
        span = slice(part.first, part.stop)
        aims = np.maximum.accumulate(written.times_s[span] + plan.centre_s[span])
        low, high = _reach(played_s, aims, REACH_BEATS * written.beat_s[span], plan, number)
        heard = played_s[low:high]
        notes, hits = pairs(aims, heard, windows_s(written.times_s)[span])
        notes, hits = pair_leftovers(aims, heard, written.beat_s[span], notes, hits)
        clap[part.first + notes] = low + hits
        extras += np.setdiff1d(np.arange(part.low, part.high), low + hits).tolist()
    return clap, tuple(extras)


def _reach(
    played_s: Floats, aims_s: Floats, reach_s: Floats, plan: Plan, number: int
) -> tuple[int, int]:
    """Return the claps that the notes of a part may have, from one to before another."""
    part = plan.parts[number]
    free = plan.parts[number - 1].high if number else 0
    taken = plan.parts[number + 1].low if number + 1 < len(plan.parts) else plan.end_clap
    if not len(aims_s):
        return part.low, part.high
    early = int(np.searchsorted(played_s, aims_s[0] - reach_s[0]))
    late = int(np.searchsorted(played_s, aims_s[-1] + reach_s[-1], side="right"))
    low = min(part.low, max(early, free))
    return low, max(part.high, min(late, taken))


def _settle(played_s: Floats, written: Written, plan: Plan, clap: Ints) -> None:
    """Move the base of parts whose start was found so that their median offset is nothing."""
    for number, part in enumerate(plan.parts):
        mine = np.flatnonzero((plan.part == number) & (clap >= 0))
        if part.given or not len(mine):
            continue
        late = played_s[clap[mine]] - written.times_s[mine]
        late = late - plan.base_s[mine] - plan.shift_s[mine]
        plan.base_s[part.first : part.stop] += np.median(late)
