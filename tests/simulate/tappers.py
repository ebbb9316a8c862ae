"""People who tap along with a recording and mark beats in it.

A tapper's unsteadiness is a run of real asynchronies: one person's trial of Bååth & Madison
(2012) at 600 ms between clicks, around that person's own mean, scaled where beats are longer as
the same people's spread grows.  On top, when the tempo changes the tapper goes on for a beat in
the old one, by a share of the change.
"""

import csv
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Random = np.random.Generator
DATA = Path(__file__).parent.parent / "data" / "baath_madison_2012.csv"
INTERVAL_MS = 600.0
FURTHEST_S = 0.25


@cache
def runs() -> tuple[Floats, ...]:
    """Return the asynchronies of every person at 600 ms, in seconds, in order."""
    by_person: dict[str, list[float]] = {}
    with DATA.open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            if float(row["isi"]) == INTERVAL_MS:
                by_person.setdefault(row["subject"], []).append(float(row["asynch"]) / 1000)
    return tuple(np.array(run) for run in by_person.values())


def tapped(rng: Random, beats_s: Floats) -> Floats:
    """Return the second of a tap for every one of ``beats_s``, rising."""
    people = runs()
    run = people[int(rng.integers(len(people)))]
    start = int(rng.integers(run.size))
    asynchrony = np.take(run, np.arange(start, start + beats_s.size), mode="wrap")
    gaps = np.diff(beats_s, prepend=beats_s[0] - (beats_s[1] - beats_s[0]))
    scale = np.clip(gaps / 0.6, 0.8, 1.6)
    change = np.diff(gaps, prepend=gaps[0])
    lag = rng.uniform(0.2, 0.6)
    spread = (asynchrony - run.mean()) * scale + run.mean()
    taps = beats_s + np.clip(spread, -FURTHEST_S, FURTHEST_S) - lag * change
    return np.maximum.accumulate(np.maximum(taps, 0.0) + 1e-6 * np.arange(taps.size))


def marked(rng: Random, second: float) -> float:
    """Return where a person marks a beat by ear, with stops and starts: within some 25 ms."""
    return max(0.0, second + float(rng.normal(0, 0.025)))
