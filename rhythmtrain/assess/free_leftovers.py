"""Notes and claps left over between two pairs: a note far out of place is still that note.

Where the tempo alone decides, a note played half a beat late becomes a missed note and an extra
clap.  So what is left over between two neighbouring pairs is paired in order, each note with the
clap nearest to where it should fall between them, but not further off than a share of the gap.  At
both ends the next note takes the next clap while the interval is at all likely: a last note may
come as late as one likes.
"""

from collections.abc import Iterator
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.free_match import Chain

Floats = NDArray[np.float64]

MOST_OF_GAP = 0.4
MOST_LEFT = 6
# At the ends, heard over expected interval (from the pairs nearest to it) may be up to this.
MOST_STRETCH = 2.0
NEAREST_PAIRS = 4
MOST_BEYOND = 2


def with_leftovers(chain: Chain, written_s: Floats, played_s: Floats) -> Chain:
    """Return ``chain`` with what is left over between its pairs paired in order."""
    found = list(zip(chain.notes, chain.claps, strict=True))
    for before, after in pairwise(tuple(found)):
        found += _between(before, after, written_s, played_s)
    found = sorted(found)
    found += _beyond(found, written_s, played_s, 1)
    found = sorted(found)
    found += _beyond(found, written_s, played_s, -1)
    found.sort()
    return Chain(tuple(note for note, _ in found), tuple(clap for _, clap in found), chain.worth)


def _between(
    before: tuple[int, int], after: tuple[int, int], written_s: Floats, played_s: Floats
) -> Iterator[tuple[int, int]]:
    """Yield the pairs of what is left over between two pairs."""
    notes = range(before[0] + 1, after[0])
    claps = range(before[1] + 1, after[1])
    few = min(len(notes), len(claps))
    if not few or max(len(notes), len(claps)) > MOST_LEFT:
        return
    begin, end = float(played_s[before[1]]), float(played_s[after[1]])
    scale = (end - begin) / float(written_s[after[0]] - written_s[before[0]])
    aims = {note: begin + scale * float(written_s[note] - written_s[before[0]]) for note in notes}
    ways = (
        tuple(zip(some, others, strict=True))
        for some in combinations(notes, few)
        for others in combinations(claps, few)
    )
    best = min(ways, key=lambda way: sum(abs(aims[note] - played_s[clap]) for note, clap in way))
    limit = MOST_OF_GAP * (end - begin)
    yield from ((note, clap) for note, clap in best if abs(aims[note] - played_s[clap]) <= limit)


def _beyond(
    found: list[tuple[int, int]], written_s: Floats, played_s: Floats, side: int
) -> Iterator[tuple[int, int]]:
    """Yield the pairs that go on after the last pair (``side`` 1) or before the first (-1)."""
    if len(found) < NEAREST_PAIRS:
        return
    near = found[-NEAREST_PAIRS:] if side > 0 else found[:NEAREST_PAIRS]
    (first, begun), (last, ended) = near[0], near[-1]
    scale = float(played_s[ended] - played_s[begun]) / float(written_s[last] - written_s[first])
    note, clap = near[-1] if side > 0 else near[0]
    for _ in range(MOST_BEYOND):
        if not (0 <= note + side < len(written_s) and 0 <= clap + side < len(played_s)):
            return
        heard = abs(float(played_s[clap + side] - played_s[clap]))
        ratio = heard / (scale * abs(float(written_s[note + side] - written_s[note])))
        if not 1 / MOST_STRETCH <= ratio <= MOST_STRETCH:
            return
        note, clap = note + side, clap + side
        yield note, clap
