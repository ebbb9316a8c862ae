"""Free playing in pieces: the tries of a take, and the one that is reported.

The best chain of pairs (see ``match``) is one go at the passage; what was heard before and
after it is searched in the same way.  A piece that begins again where its try began is a new try;
one that begins later in the passage goes on with it, and what was played last counts.  A few
chance hits among talk are no piece.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.free.leftovers import Moves, Pair, with_leftovers
from rhythmtrain.assess.free.match import Chain, best_chain
from rhythmtrain.assess.free.match_rows import GAIN

Floats = NDArray[np.float64]

FEWEST_PAIRS = 4
# Of the notes and claps that a piece reaches over, this share must be paired.
FEWEST_SHARE = 0.6
MOST_PIECES = 24
# Beside a longer piece a short one must be worth this share of a perfect one: talk is not.
SURE_PAIRS, SURE_WORTH = 12, 0.5
# So many notes and claps passed over within so many pairs may be a step back.
TROUBLE, TROUBLE_PAIRS = 5, 6
SILENCES = 3


@dataclass(frozen=True, slots=True)
class Go:
    """One try: its pairs (note, clap) in order.

    ``breaks`` gives (last note, next note) wherever the player stopped and began again or leapt;
    ``replaced`` are the claps of notes that were played once more.
    """

    pairs: tuple[Pair, ...]
    breaks: tuple[Pair, ...] = ()
    replaced: tuple[int, ...] = ()

    @property
    def first_note(self) -> int:
        """Return the first note that was played in it."""
        return self.pairs[0][0]

    @property
    def last_note(self) -> int:
        """Return the last note that was played in it."""
        return self.pairs[-1][0]


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be found in a take: when notes are written, their units and bars, the claps.

    ``bar`` is the place of each note's bar in playing order; ``figures`` are the wrong figures
    that may have been played: the notes each moves, with by how many written seconds.
    """

    written_s: Floats
    units: Floats
    bar: Sequence[int]
    played_s: Floats
    figures: Sequence[Moves] = ()


def goes(asked: Asked) -> tuple[Go, ...]:
    """Return the tries of the take in order of time; perhaps none."""
    found = sorted(_pieces(asked), key=lambda piece: piece[0][1])
    grouped: list[Go] = []
    for piece in found[:MOST_PIECES]:
        before = grouped[-1] if grouped else None
        anew = before is None or asked.bar[piece[0][0]] <= asked.bar[before.first_note]
        if before is not None and not anew:
            grouped[-1] = _joined(before, piece)
        else:
            grouped.append(Go(piece))
    return tuple(grouped)


def fullest(tries: Sequence[Go]) -> int:
    """Return the index of the try to report: the one with most notes, the last of equals."""
    return max(range(len(tries)), key=lambda number: (len(tries[number].pairs), number))


def _pieces(asked: Asked) -> Iterator[tuple[Pair, ...]]:
    """Yield the pieces of the take."""
    waiting = [(0, len(asked.played_s))]
    least = min(FEWEST_PAIRS, len(asked.written_s), len(asked.played_s))
    while waiting:
        low, high = waiting.pop()
        if high - low < least:
            continue
        claps = asked.played_s[low:high]
        chain = best_chain(asked.written_s, asked.units, claps)
        split = _split(asked, chain, claps)
        if split is not None:
            waiting += [(low, low + split), (low + split, high)]
            continue
        chain = with_leftovers(chain, asked.written_s, claps, asked.figures)
        first, last = chain.claps[0], chain.claps[-1]
        reach = chain.notes[-1] - chain.notes[0] + last - first + 2
        if len(chain.notes) < least or 2 * len(chain.notes) < FEWEST_SHARE * reach:
            continue
        chance = chain.worth < SURE_WORTH * GAIN * len(chain.notes)
        if chance and len(chain.notes) < SURE_PAIRS and high - low < len(asked.played_s):
            continue
        yield tuple((note, clap + low) for note, clap in zip(chain.notes, chain.claps, strict=True))
        waiting += [(low, low + first), (low + last + 1, high)]


def _split(asked: Asked, chain: Chain, claps: Floats) -> int | None:
    """Return the clap at which the player stopped and began again, or None.

    Where many notes and claps were passed over within a few pairs, two chains, before and after
    one of the longest silences there, may be worth more than the one.
    """
    passed = np.diff(chain.notes) + np.diff(chain.claps) - 2
    if len(passed) < 2 * TROUBLE_PAIRS:
        return None
    near = np.convolve(passed, np.ones(TROUBLE_PAIRS))
    if near.max() < TROUBLE:
        return None
    calm = np.flatnonzero(near == 0)
    worst = int(np.argmax(near))
    low = max((int(rank) for rank in calm[calm < worst]), default=0)
    high = min((int(rank) for rank in calm[calm > worst]), default=len(passed))
    first, last = chain.claps[min(low, len(passed))], chain.claps[min(high, len(passed))]
    silences = first + 1 + np.argsort(-np.diff(claps[first : last + 1]))[:SILENCES]
    best, where = chain.worth, None
    for silence in silences.tolist():
        parts = (claps[:silence], claps[silence:])
        worth = sum(best_chain(asked.written_s, asked.units, part).worth for part in parts)
        if worth > best:
            best, where = worth, silence
    return where


def _joined(go: Go, piece: tuple[Pair, ...]) -> Go:
    """Return the try gone on with ``piece``; where both hold a note, the later one counts."""
    begin = piece[0][0]
    kept = tuple(pair for pair in go.pairs if pair[0] < begin)
    replaced = tuple(clap for note, clap in go.pairs if note >= begin)
    here = (go.last_note, begin)
    goes_on = piece[0] == (go.last_note + 1, go.pairs[-1][1] + 1)
    breaks = (*(each for each in go.breaks if each[1] < begin), *(() if goes_on else (here,)))
    return Go((*kept, *piece), breaks, (*go.replaced, *replaced))
