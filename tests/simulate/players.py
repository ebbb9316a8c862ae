"""Simulated players: honest people as they really tap, with everything that goes wrong.

An honest player's unsteadiness is not invented: it is cut from the open tapping data of Baath &
Madison (2012), whole rows of one person at the interval nearest to the beat, so that it drifts and
hangs together as people's does.  To it come a constant lead, notes missed, claps too many, double
triggers, slips, talk, false starts, stumbles with a step back, entries at another count.
"""

import csv
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.capture.take import Heard, Take

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Random = np.random.Generator
TAPPING = Path(__file__).parent.parent / "data" / "baath_madison_2012.csv"
FIRST_TAPS = 3
NO_NOTE = -1
LEAST_APART_S = 0.080


@dataclass(frozen=True, slots=True)
class Claps:
    """Claps in order of time, and for each the note that was meant (-1: none)."""

    times_s: Floats
    meant: Ints

    def take(self) -> Take:
        """Return the claps as a take of text."""
        heard = tuple(Heard(float(time)) for time in self.times_s)
        return Take("text", "simulated", heard, float(self.times_s[-1]) + 1.0)

    def later(self, by_s: float) -> "Claps":
        """Return the same claps ``by_s`` later."""
        return Claps(self.times_s + by_s, self.meant)


@cache
def tapping() -> dict[tuple[str, int], tuple[Floats, ...]]:
    """Return the taps of each (person, interval in ms): a row of seconds for each take."""
    rows: dict[tuple[str, int, str], list[float]] = defaultdict(list)
    with TAPPING.open(encoding="utf-8") as lines:
        for line in csv.DictReader(lines):
            key = (line["subject"], int(line["isi"]), line["trial"])
            rows[key].append(float(line["asynch"]) / 1000)
    takes: dict[tuple[str, int], list[Floats]] = defaultdict(list)
    for (person, interval, _), taps in rows.items():
        takes[person, interval].append(np.array(taps[FIRST_TAPS:]))
    return {key: tuple(each) for key, each in takes.items()}


def unsteadiness(rng: Random, count: int, beat_s: float) -> Floats:
    """Return ``count`` offsets in seconds of one person beside a click every ``beat_s``."""
    data = tapping()
    intervals = np.array(sorted({interval for _, interval in data}))
    interval = int(intervals[np.argmin(np.abs(intervals - 1000 * beat_s))])
    people = sorted(person for person, length in data if length == interval)
    takes = data[str(rng.choice(people)), interval]
    scale = float(spread_s(beat_s) / spread_s(interval / 1000))
    row: list[float] = []
    while len(row) < count:
        taps = takes[int(rng.integers(len(takes)))]
        row += ((taps - np.median(taps)) * scale).tolist()
    return np.array(row[:count])


def noisy(rng: Random, written_s: Floats, *, fixed_s: float = 0.010, share: float = 0.04) -> Floats:
    """Return written times with independent errors: a fixed part and one by the interval."""
    gaps = np.diff(written_s)
    shorter = np.minimum(np.append(gaps, np.inf), np.insert(gaps, 0, np.inf))
    shorter = np.where(np.isfinite(shorter), shorter, 0.5)
    return np.asarray(written_s + rng.normal(0, 1, len(written_s)) * (fixed_s + share * shorter))


def honest(rng: Random, written_s: Floats, beat_s: float, *, lead_s: float | None = None) -> Floats:
    """Return written times as an honest person plays them, ahead by 20 to 60 ms unless told."""
    lead = float(rng.uniform(0.02, 0.06)) if lead_s is None else lead_s
    return np.asarray(written_s - lead + unsteadiness(rng, len(written_s), beat_s))


def clapped(times_s: Floats, notes: Ints | None = None) -> Claps:
    """Return claps at ``times_s``, meant for notes 0, 1, 2 … unless told."""
    meant = np.arange(len(times_s)) if notes is None else notes
    order = np.argsort(times_s, kind="stable")
    return Claps(times_s[order], meant[order].astype(np.intp))


def careless(rng: Random, claps: Claps, *, missed: float, extra: float) -> Claps:
    """Return the claps with a share of them left out and a share of claps too many put in.

    A clap too many lies at least 80 ms from the others: nobody claps twice in less, and what a
    device makes of one clap is ``doubled``'s to do.
    """
    keep = rng.random(len(claps.times_s)) >= missed
    count = int(rng.binomial(len(claps.times_s), extra))
    times = claps.times_s[keep]
    for _ in range(count):
        free = rng.uniform(claps.times_s[0], claps.times_s[-1], 50)
        apart = np.min(np.abs(free[:, None] - times[None, :]), axis=1) >= LEAST_APART_S
        times = np.append(times, free[apart][:1])
    meant = np.concatenate((claps.meant[keep], np.full(len(times) - int(keep.sum()), NO_NOTE)))
    return clapped(times, meant)


def joined(*takes: Claps) -> Claps:
    """Return several rows of claps as one."""
    return clapped(
        np.concatenate([each.times_s for each in takes]),
        np.concatenate([each.meant for each in takes]),
    )


def talk(rng: Random, start_s: float, length_s: float) -> Claps:
    """Return the onsets of talk: syllables 120 to 320 ms apart, with breaths between."""
    times = [start_s + float(rng.uniform(0, 0.3))]
    while times[-1] < start_s + length_s:
        breath = float(rng.uniform(0.4, 1.0)) if rng.random() < 0.15 else 0.0
        times.append(times[-1] + float(rng.uniform(0.12, 0.32)) + breath)
    row = np.array(times[:-1] or times)
    return clapped(row, np.full(len(row), NO_NOTE))


def doubled(rng: Random, claps: Claps, share: float) -> Claps:
    """Return the claps with a share of them heard twice, 30 to 70 ms apart."""
    again = claps.times_s[rng.random(len(claps.times_s)) < share]
    later = again + rng.uniform(0.03, 0.07, len(again))
    return joined(claps, clapped(later, np.full(len(again), NO_NOTE)))
