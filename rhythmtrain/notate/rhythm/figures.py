"""How common the figures of one beat are: what a clapped rhythm is expected to be made of.

A figure is the shares of a beat at which notes begin.  The weights say about how many beats in a
thousand have it in the music of lesson books, marches, dances and songs (common practice, no source:
they were written down once, by ear and eye, before any trial).  They matter only where the ear alone
cannot tell: a factor of ten is worth about two standard errors of one clap.

Where less than a quarter is counted, as in 7/8, a beat has what half a quarter's figure has.  A beat
that divides in neither two nor three has its own small notes as places, all figures alike.
"""

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import combinations
from math import log

from rhythmtrain.score.metre import Beat

SIMPLE: dict[str, float] = {
    "0": 340, "0 1/2": 200, "": 140, "1/2": 70, "0 1/2 3/4": 50, "0 1/4 1/2 3/4": 50, "0 3/4": 45,
    "0 1/4 1/2": 30, "0 1/4 3/4": 25, "0 1/3 2/3": 20, "1/2 3/4": 12, "3/4": 10, "0 1/4": 10,
    "1/4 1/2 3/4": 8, "1/4 3/4": 8, "0 2/3": 6, "1/4 1/2": 5, "1/4": 4, "1/3 2/3": 3, "0 1/3": 2,
    "2/3": 2, "1/3": 1, "0 1/6 1/3 1/2 2/3 5/6": 1, "0 3/4 7/8": 1,
    "0 1/8 1/4 3/8 1/2 5/8 3/4 7/8": 0.5, "0 1/8 1/4 1/2": 0.5, "0 1/2 5/8 3/4": 0.5,
    "0 1/5 2/5 3/5 4/5": 0.3,
}  # fmt: skip
COMPOUND: dict[str, float] = {
    "0": 300, "0 2/3": 200, "0 1/3 2/3": 200, "": 100, "0 1/2 2/3": 35, "2/3": 30, "0 1/3": 25,
    "1/3 2/3": 20, "0 1/3 1/2 2/3": 15, "0 1/3 2/3 5/6": 15, "0 1/6 1/3 1/2 2/3 5/6": 12,
    "0 1/6 1/3 2/3": 10, "0 1/2": 8, "1/3": 8, "0 2/3 5/6": 6, "0 1/3 1/2 2/3 5/6": 6,
    "0 1/6 1/3 1/2 2/3": 6, "1/2 2/3": 3, "1/3 1/2 2/3": 2, "0 1/2 2/3 5/6": 2, "5/6": 1,
    "0 5/6": 1, "2/3 5/6": 1, "0 1/4 1/2 3/4": 1, "0 1/6": 1, "1/2": 1,
}  # fmt: skip
# Over two simple beats, shares of the first: three in the time of two.
TWO_BEATS: dict[str, float] = {"0 2/3 4/3": 4, "0 4/3": 0.7, "2/3 4/3": 0.7, "0 2/3": 0.7}
OTHER_PLACES_MOST = 6
SLOW_SHARE = 0.05


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure: where its notes begin, in quarters from its first beat; its log chance; its beats."""

    at: tuple[Fraction, ...]
    log_chance: float
    beats: int = 1


@cache
def figures(beat: Beat, following: Beat | None) -> tuple[Figure, ...]:
    """Return the figures that can begin on ``beat``; ``following`` is the next beat of its bar.

    Their chances sum to 1.
    """
    if beat.compound:
        weights = {Figure(_places(text, beat.length), w): w for text, w in COMPOUND.items()}
    elif beat.simple and beat.length < 1:
        weights = {Figure(_places(text, beat.length), w): w for text, w in _halved().items()}
    elif beat.simple:
        weights = {Figure(_places(text, beat.length), w): w for text, w in SIMPLE.items()}
        if following is not None and following.length == beat.length:
            weights |= {
                Figure(_places(text, beat.length), w, beats=2): w for text, w in TWO_BEATS.items()
            }
    else:
        weights = dict.fromkeys(_even(beat), 1.0)
    whole = sum(weights.values())
    return tuple(
        Figure(figure.at, log(weight / whole), figure.beats) for figure, weight in weights.items()
    )


@cache
def _halved() -> dict[str, float]:
    """Return how common the halves of a quarter's figures are; half a triplet is none.

    In slow music a counted eighth has what a quarter has elsewhere: that is kept, but rare.
    """
    halves = {text: SLOW_SHARE * weight for text, weight in SIMPLE.items()}
    for text, weight in SIMPLE.items():
        shares = [2 * Fraction(share) for share in text.split()]
        if any(share.denominator % 3 == 0 or share.denominator % 5 == 0 for share in shares):
            continue
        for half in (0, 1):
            inside = " ".join(str(share - half) for share in shares if half <= share < half + 1)
            halves[inside] = halves.get(inside, 0) + weight
    return halves


def _places(text: str, length: Fraction) -> tuple[Fraction, ...]:
    return tuple(Fraction(share) * length for share in text.split())


def _even(beat: Beat) -> list[Figure]:
    parts = min(beat.length.numerator, OTHER_PLACES_MOST)
    spots = [beat.length * number / parts for number in range(parts)]
    return [
        Figure(chosen, 0.0) for size in range(parts + 1) for chosen in combinations(spots, size)
    ]
