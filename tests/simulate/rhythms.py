"""Invented passages for judging trials, in three sets made from different figures and metres.

Thresholds are chosen on ``"tune"``; some were thought over again after failures on ``"held out"``
had been read, so it praises nothing any more; ``"unseen"`` was made after the last threshold was
set, and what is claimed is claimed of it.  Each has other metres, figures, tempi and seeds.
"""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Passage, Place
from rhythmtrain.units import Bpm

Random = np.random.Generator


@dataclass(frozen=True, slots=True)
class Half:
    """What the passages of one half are made of: figures are shares of a beat."""

    metres: tuple[str, ...]
    simple: tuple[str, ...]
    compound: tuple[str, ...]
    tempi: tuple[int, int]
    seed: int


HALVES: dict[str, Half] = {
    "tune": Half(
        ("4/4", "3/4", "6/8"),
        ("0", "0", "0 1/2", "0 1/2", "", "1/2", "0 3/4", "0 1/4 1/2 3/4", "0 1/2 3/4"),
        ("0", "0 1/3 2/3", "0 2/3", "", "1/3 2/3", "0 1/3"),
        (60, 100),
        1,
    ),
    "held out": Half(
        ("2/4", "5/4", "9/8", "2/2"),
        ("0", "0", "0 1/2", "", "1/2", "0 1/4", "0 1/4 3/4", "1/4 1/2", "0 1/4 1/2", "0 1/3 2/3"),
        ("0", "0 1/2 2/3", "0 2/3", "", "2/3", "0 1/3 1/2 2/3"),
        (50, 126),
        2,
    ),
    "unseen": Half(
        ("3/2", "12/8", "7/8", "4/4"),
        ("0", "0 1/2", "0 1/2", "", "1/2", "0 2/3", "0 1/4 3/4", "3/4", "1/4", "0 1/2 3/4"),
        ("0", "0 1/3", "0 1/3 2/3", "", "1/3", "0 1/6 1/3 2/3", "0 2/3 5/6"),
        (44, 112),
        3,
    ),
}


def seeded(half: str, number: int) -> Random:
    """Return the generator of random numbers for one trial of a half."""
    return np.random.default_rng((HALVES[half].seed, number))


def drawn_passage(half: str, rng: Random, *, notes: int, rests: tuple[int, ...] = ()) -> Passage:
    """Return a passage of at least ``notes`` notes.

    ``rests`` are numbers of whole bars of rest; they are put in evenly, between phrases.
    """
    made = HALVES[half]
    metre = Metre.parse(str(rng.choice(made.metres)))
    bars: list[Bar] = []
    count = 0
    waiting = list(rests)
    phrase = max(notes // (len(rests) + 1), 1)
    while count < notes or waiting:
        if waiting and count >= phrase * (len(rests) - len(waiting) + 1):
            for _ in range(waiting.pop(0)):
                bars.append(_bar(len(bars) + 1, metre, ()))
        places = _places(made, metre, rng, opening=not bars)
        count += len(places)
        bars.append(_bar(len(bars) + 1, metre, places))
    tempo = int(rng.integers(*made.tempi))
    return Passage("Lantern Row", Bpm(tempo), tuple(bars))


def even_passage(bars: int, tempo: float, *, step: Fraction = Fraction(1)) -> Passage:
    """Return bars of 4/4 in even notes of ``step`` quarters, in which every beat looks like the next."""
    metre = Metre.parse("4/4")
    even = tuple(Place(step * number, Kind.PLAYED) for number in range(int(4 / step)))
    return Passage(
        "Plain Steps",
        Bpm(tempo),
        tuple(_bar(number + 1, metre, even) for number in range(bars)),
    )


def _bar(number: int, metre: Metre, places: tuple[Place, ...]) -> Bar:
    return Bar(number, metre, places, Fraction(0), metre.length)


def _places(made: Half, metre: Metre, rng: Random, *, opening: bool) -> tuple[Place, ...]:
    """Return the places of one bar; never an empty bar, the first begins on the first beat."""
    while True:
        spots = [
            beat.start + beat.length * Fraction(share)
            for beat in metre.beats
            for share in str(rng.choice(made.compound if beat.compound else made.simple)).split()
        ]
        if spots and not (opening and spots[0]):
            return tuple(Place(at, Kind.PLAYED) for at in spots)
