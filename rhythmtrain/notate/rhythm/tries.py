"""Which onsets of a take are one try of the passage, and which another.

Someone who claps a passage several times stops between: longer than a bar and a half, and longer
than anywhere inside.  The take is cut at such gaps; the pieces that have equally many onsets, in about
the same rhythm, are tries of one passage.  One with a clap or two too many is read without them, one
with a clap too few is left out; of two that differ so the longer is read.  Where no cut gives two such pieces the take is one try: its
gaps are rests.  Who claps on with less of a stop says how often the passage comes.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.remedies import option

Floats = NDArray[np.float64]

MOST_TRIES = 12
FEWEST_NOTES = 3
# Between tries one stops for so many bars, or so long where the bar is not known, and so much
# longer than inside a try.
STOP_BARS, STOP_S, STOP_LONGER = 1.5, 2.5, 1.3
# Two tries have the same rhythm when the ratios of their intervals (natural logarithm, both tries made
# equally long) are within this, root mean square: 20 ms of spread at sixteenths of quarter = 90 is
# 0.24, 35 ms at quarter = 72 is 0.34, every other interval twice or half as long is 0.5.
ALIKE = 0.4
# Where the claps left out were chosen to fit, the rest must fit better.
ALIKE_BUT_STRAYS = 0.25
# So many claps may be missing, or be too many, in a try that is otherwise as the others; one where
# there is but one other.
MOST_STRAY = 2
# Two onsets closer than this are one clap heard twice; sixteenths at 208 are 72 ms apart.
DOUBLED_S = 0.045


@dataclass(frozen=True, slots=True)
class Tries:
    """The tries that are read together, and how many onsets each of the rest has."""

    together: tuple[Floats, ...]
    left_out: tuple[int, ...] = ()


def split_tries(
    onsets_s: Sequence[float], times: int | None = None, *, bar_s: float | None = None
) -> Tries:
    """Return the tries in a take; ``times`` is how often the passage comes, where that was said.

    ``bar_s`` is how long a bar lasts, where that is known.

    Raises:
        RequestError: the onsets do not divide into so many tries.
    """
    onsets = without_doubles(onsets_s)
    if times is None:
        return _found(onsets, STOP_S if bar_s is None else STOP_BARS * bar_s)
    if not 1 <= times <= MOST_TRIES:
        raise RequestError(f"{option('times')} must be 1 to {MOST_TRIES}, got {times}")
    if len(onsets) % times or len(onsets) < times * FEWEST_NOTES:
        raise RequestError(
            f"{len(onsets)} claps do not divide into {times} tries: was one missed, or heard twice?"
        )
    return Tries(tuple(np.split(onsets, times)))


def without_doubles(onsets_s: Sequence[float]) -> Floats:
    """Return the onsets, of any that follow closer than a hand can clap the first."""
    kept: list[float] = []
    for onset in onsets_s:
        if not kept or onset - kept[-1] >= DOUBLED_S:
            kept.append(onset)
    return np.array(kept)


def _found(onsets: Floats, stop_s: float) -> Tries:
    gaps = np.diff(onsets)
    best = Tries((onsets,))
    longest = np.argsort(-gaps, kind="stable")
    for cuts in range(1, min(MOST_TRIES, len(gaps))):
        shortest, inside = gaps[longest[cuts - 1]], gaps[longest[cuts]]
        if shortest <= stop_s:
            break
        if shortest < STOP_LONGER * inside:
            continue
        found = _alike(np.split(onsets, np.sort(longest[:cuts]) + 1))
        if found is not None and (
            len(found.together) > len(best.together) or not (best.left_out or best.together[1:])
        ):
            best = found
    return best


def _alike(pieces: list[Floats]) -> Tries | None:
    """Return the pieces that are tries of one passage, if they are most of the take."""
    sizes = [len(piece) for piece in pieces]
    size = max(sorted(set(sizes), reverse=True), key=lambda each: each * sizes.count(each))
    same = [piece for piece in pieces if len(piece) == size]
    if size <= FEWEST_NOTES or _apart(same) >= ALIKE:
        return None
    others = [piece for piece in pieces if len(piece) != size]
    most = MOST_STRAY if len(same) > 1 else 1
    mended = [_without_strays(piece, same[0], most) for piece in others]
    fewer = [piece for piece in others if _without_strays(same[0], piece, most) is not None]
    tries = [*same, *(piece for piece in mended if piece is not None)]
    told = sum(map(len, tries)) + sum(map(len, fewer))
    if len(tries) + len(fewer) < 2 or 2 * told <= sum(sizes):  # noqa: PLR2004  (a passage and again)
        return None
    left = tuple(len(piece) for piece, whole in zip(others, mended, strict=True) if whole is None)
    return Tries(tuple(tries), left)


def _apart(pieces: Sequence[Floats]) -> float:
    """Return how far the rhythms of equally many onsets are apart; 0 for one alone."""
    if len(pieces) == 1:
        return 0.0
    rows = np.diff(np.stack(pieces), axis=1)
    ratios = np.log(rows / rows.sum(axis=1, keepdims=True))
    return float(np.sqrt(2 * np.mean(np.var(ratios, axis=0, ddof=1))))


def _without_strays(piece: Floats, model: Floats, most: int) -> Floats | None:
    """Return ``piece`` without the few claps that ``model`` lacks, None where that is not all."""
    more = len(piece) - len(model)
    if not 0 < more <= most or len(model) <= FEWEST_NOTES:
        return None
    left = (np.delete(piece, list(strays)) for strays in combinations(range(len(piece)), more))
    best = min(left, key=lambda each: _apart([each, model]))
    return best if _apart([best, model]) < ALIKE_BUT_STRAYS else None
