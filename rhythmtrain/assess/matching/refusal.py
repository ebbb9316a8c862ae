"""Whether what was played is the passage at all.

Three things are joined.  *Agreement* is F = 2 pairs / (expected + claps) over what was played.
*Worth* is what following the take through the passage earned for each clap (see ``following``):
about 0.9 for an honest player, 0.6 with a fifth of the notes missed and as many claps too many,
0.3 for another passage, in which much fits by chance.  The *shuffle test* asks how much of that
depends on the order of the intervals: the same intervals in random order are followed too.  A take
of the passage is worth more and loses more by shuffling; only a passage of even notes does not
lose, and is worth much.

Two passages with one rhythm cannot be told apart.  With fewer than twelve notes nothing can be
trusted, and no opinion is given.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.matching.following import follow
from rhythmtrain.assess.matching.rendition import Rendition
from rhythmtrain.assess.matching.tries import Attempt
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]

FEWEST_NOTES = 12
SHUFFLES = 8
MOST_CLAPS = 96
LEAST_AGREEMENT = 0.45
# Worth and what shuffling loses, together, for each clap; chosen on one set of the simulated
# passages and tried on others, see tests/simulate/judging_table.py.
LEAST_LIKENESS = 0.63
MOST_OF_THE_TAKE = 0.5


def opinion(
    rendition: Rendition,
    tries: tuple[Attempt, ...],
    shown: int,
    played_s: Floats,
    written: Written,
    rng: np.random.Generator,
) -> bool | None:
    """Return whether the take is of the passage, None where that cannot be told."""
    heard = _heard(tries, shown, played_s)
    if min(len(heard), len(written.times_s)) < FEWEST_NOTES:
        return None
    pairs = int(np.sum(rendition.clap >= 0))
    expected = int(np.sum(rendition.part >= 0))
    if agreement(pairs, expected, pairs + len(rendition.extras)) < LEAST_AGREEMENT:
        return False
    return likeness(heard, written, rng) >= LEAST_LIKENESS


def agreement(pairs: int, expected: int, claps: int) -> float:
    """Return F: 1 when every note has its clap and every clap its note, 0 when none has."""
    return 2 * pairs / (expected + claps) if expected + claps else 0.0


def likeness(played_s: Floats, written: Written, rng: np.random.Generator) -> float:
    """Return the worth of each clap and what shuffling the intervals loses of it, together."""
    heard = played_s[:MOST_CLAPS]
    worth = follow(heard, written)[1]
    gaps = np.diff(heard)
    others = [
        follow(heard[0] + np.concatenate(([0.0], np.cumsum(rng.permutation(gaps)))), written)[1]
        for _ in range(SHUFFLES)
    ]
    return float(2 * worth - np.mean(others)) / len(heard)


def _heard(tries: tuple[Attempt, ...], shown: int, played_s: Floats) -> Floats:
    """Return the claps to judge by: of the try shown, unless the tries are little of the take."""
    spans = [(each.pieces[0].first_clap, each.pieces[-1].last_clap + 1) for each in tries]
    if sum(stop - first for first, stop in spans) < MOST_OF_THE_TAKE * len(played_s):
        return played_s
    first, stop = spans[shown]
    return played_s[first:stop]
