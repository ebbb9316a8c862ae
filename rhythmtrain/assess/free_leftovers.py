"""Notes and claps left over between two pairs: a note far out of place is still that note.

Where the tempo alone decides, a note played half a beat late becomes a missed note and an extra
clap.  So what is left over between two neighbouring pairs is paired in order, each note with the
clap nearest to where it should fall between them, but not further off than a share of the gap.
"""

from collections.abc import Iterator
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.free_match import Chain

Floats = NDArray[np.float64]

MOST_OF_GAP = 0.4
MOST_LEFT = 6


def with_leftovers(chain: Chain, written_s: Floats, played_s: Floats) -> Chain:
    """Return ``chain`` with what is left over between its pairs paired in order."""
    found = list(zip(chain.notes, chain.claps, strict=True))
    for before, after in pairwise(tuple(found)):
        found += _between(before, after, written_s, played_s)
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
