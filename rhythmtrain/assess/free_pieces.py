"""Free playing in pieces: the tries of a take, and the one that is reported.

The best chain of pairs (see ``free_match``) is one go at the passage; what was heard before and
after it is searched in the same way.  A piece that begins again where its try began is a new try;
one that begins later in the passage goes on with it, and what was played last counts.  A few
chance hits among talk are no piece.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.free_leftovers import Moves, Pair, with_leftovers
from rhythmtrain.assess.free_match import UNKNOWN_TEMPO, best_chain

Floats = NDArray[np.float64]

FEWEST_PAIRS = 4
# Of the notes and claps that a piece reaches over, this share must be paired.
FEWEST_SHARE = 0.6
MOST_PIECES = 24


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
    found = sorted(_pieces(asked, 0, len(asked.played_s)), key=lambda piece: piece[0][1])
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


def _pieces(asked: Asked, low: int, high: int) -> Iterator[tuple[Pair, ...]]:
    """Yield the pieces among claps ``low`` to before ``high``."""
    waiting = [(low, high)]
    while waiting:
        low, high = waiting.pop()
        least = min(FEWEST_PAIRS, len(asked.written_s))
        if high - low < least:
            continue
        claps = asked.played_s[low:high]
        chain = best_chain(asked.written_s, asked.units, claps, unknown_tempo=UNKNOWN_TEMPO)
        chain = with_leftovers(chain, asked.written_s, claps, asked.figures)
        first, last = chain.claps[0], chain.claps[-1]
        reach = chain.notes[-1] - chain.notes[0] + last - first + 2
        if len(chain.notes) < least or 2 * len(chain.notes) < FEWEST_SHARE * reach:
            continue
        yield tuple((note, clap + low) for note, clap in zip(chain.notes, chain.claps, strict=True))
        waiting += [(low, low + first), (low + last + 1, high)]


def _joined(go: Go, piece: tuple[Pair, ...]) -> Go:
    """Return the try gone on with ``piece``; where both hold a note, the later one counts."""
    begin = piece[0][0]
    kept = tuple(pair for pair in go.pairs if pair[0] < begin)
    replaced = tuple(clap for note, clap in go.pairs if note >= begin)
    breaks = (*(each for each in go.breaks if each[1] < begin), (go.last_note, begin))
    return Go((*kept, *piece), breaks, (*go.replaced, *replaced))
