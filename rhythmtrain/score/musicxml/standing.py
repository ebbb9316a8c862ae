"""What stays in force from one bar of a part to the next: divisions, metre, transposition, shorthand."""

from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.metre import Metre
from rhythmtrain.score.musicxml.markup import Node

FOUR_FOUR = Metre((4,), 4)
OPENS = "start"
LONGEST_COUNT = 3  # digits
FURTHEST_BACK = 16


@dataclass(slots=True)
class Standing:
    """What stays in force from one bar of a part to the next."""

    divisions: Fraction = Fraction(1)
    metre: Metre | None = FOUR_FOUR
    transposed: int = 0
    staves: int = 1
    like: int = 0
    beats_again: Fraction = Fraction(0)


def read_style(style: Node, standing: Standing) -> int:
    """Take over what a ``measure-style`` says; return how many bars of rest its bar stands for, or 0."""
    for repeat in style.all("beat-repeat"):
        beat = standing.metre.beats[0].length if standing.metre else Fraction(1)
        standing.beats_again = beat if repeat.get("type") == OPENS else Fraction(0)
    for repeat in style.all("measure-repeat"):
        back = _count(repeat) if repeat.get("type") == OPENS else 0
        standing.like = min(back, FURTHEST_BACK)
    return max((_count(rest) for rest in style.all("multiple-rest")), default=0)


def _count(node: Node) -> int:
    text = node.text.strip()
    return int(text) if text.isascii() and text.isdigit() and len(text) <= LONGEST_COUNT else 0
