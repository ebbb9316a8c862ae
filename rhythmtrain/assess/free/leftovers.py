"""Notes and claps left over between two pairs: a note far out of place is still that note.

Where the tempo alone decides, a note played half a beat late becomes a missed note and an extra
clap.  So what is left over between two neighbouring pairs is paired in order, each note with the
clap nearest to where it should fall between them, but not further off than a share of the gap.  At
both ends the next note takes the next clap while the interval is at all likely: a last note may
come as late as one likes.
"""

from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations, pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.free.match import Chain

Floats = NDArray[np.float64]
Pair = tuple[int, int]
Moves = Mapping[int, float]

# A note may lie this far out, as a share of the gap between the pairs on both sides: more where
# as many claps as notes lie between them.
MOST_OF_GAP, MOST_OF_EQUAL = 0.30, 0.45
# A note and a clap passed over are one slip when so few pairs lie between them.
MOST_BETWEEN = 4
# Each clap lies this near to where the wrong figure puts its note, as a share of the gap.
FIGURE_NEAR = 0.08
MOST_LEFT = 6
# At the ends, heard over expected interval (from the pairs nearest to it) may be up to this.
MOST_STRETCH = 1.6
NEAREST_PAIRS = 4
MOST_BEYOND = 2


def with_leftovers(
    chain: Chain, written_s: Floats, played_s: Floats, figures: Sequence[Moves] = ()
) -> Chain:
    """Return ``chain`` with what is left over between its pairs paired in order.

    ``figures`` are the wrong figures that may have been played: for each the notes it moves, with
    by how many written seconds.
    """
    found = list(zip(chain.notes, chain.claps, strict=True))
    found = _in_order(found, written_s, played_s, figures)
    for before, after in pairwise(tuple(found)):
        found += _between(before, after, written_s, played_s)
    found = sorted(found)
    found += _beyond(found, written_s, played_s, 1)
    found = sorted(found)
    found += _beyond(found, written_s, played_s, -1)
    found.sort()
    return Chain(tuple(note for note, _ in found), tuple(clap for _, clap in found), chain.worth)


def _in_order(
    found: list[Pair], written_s: Floats, played_s: Floats, figures: Sequence[Moves]
) -> list[Pair]:
    """Return the pairs with a wrong figure that passed for a missed note and an extra clap undone.

    A figure turned round looks like one note missed and, a note or two away, one clap too many.
    Where as many claps as notes lie between two sure pairs, and a wrong figure puts each of them
    in its place, that is what was played.
    """
    events = [
        (rank, (after[0] - before[0]) - (after[1] - before[1]))
        for rank, (before, after) in enumerate(pairwise(found))
        if after[0] - before[0] != after[1] - before[1]
    ]
    out = dict(found)
    for (first, passed), (second, made_up) in pairwise(events):
        if passed + made_up or second - first > MOST_BETWEEN:
            continue
        begin, end = found[first], found[second + 1]
        inside = [moves for moves in figures if begin[0] < min(moves) < end[0]]
        if any(_fits(begin, end, written_s, played_s, moves) for moves in inside):
            out.update(zip(range(begin[0], end[0]), range(begin[1], end[1]), strict=True))
    return _rising(out)


def _fits(begin: Pair, end: Pair, written_s: Floats, played_s: Floats, moves: Moves) -> bool:
    """Return whether the claps between two pairs lie where a wrong figure puts the notes."""
    notes = np.arange(begin[0], end[0] + 1)
    aims = written_s[notes] + np.array([moves.get(note, 0.0) for note in notes.tolist()])
    span = played_s[begin[1] : end[1] + 1]
    aims = np.interp(aims, aims[[0, -1]], span[[0, -1]])
    return bool(np.abs(span - aims).max() <= FIGURE_NEAR * (span[-1] - span[0]))


def _rising(pairs: dict[int, int]) -> list[Pair]:
    """Return the pairs in order of the notes, without those whose clap goes back."""
    kept: list[Pair] = []
    for note, clap in sorted(pairs.items()):
        if not kept or clap > kept[-1][1]:
            kept.append((note, clap))
    return kept


def _between(before: Pair, after: Pair, written_s: Floats, played_s: Floats) -> Iterator[Pair]:
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
    share = MOST_OF_EQUAL if len(notes) == len(claps) else MOST_OF_GAP
    limit = share * (end - begin)
    yield from ((note, clap) for note, clap in best if abs(aims[note] - played_s[clap]) <= limit)


def _beyond(found: list[Pair], written_s: Floats, played_s: Floats, side: int) -> Iterator[Pair]:
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
