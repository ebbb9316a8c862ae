"""Trials of what is clapped in place of the rhythm: beats clapped, and rhythms attempted badly.

Whoever claps the beat does so with 20 to 40 ms of spread, misses up to one in eight, claps one in
thirty too many, and gets up to 8 % faster or slower where nothing keeps time.  An attempt at the rhythm may miss
half its notes and clap nearly as many too many; it may leave out what lies off the beat, be the beat in
every other bar, or have one figure misread wherever it stands.
"""

from collections.abc import Callable

import numpy as np

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.clapped_rows import Row
from rhythmtrain.assess.figures.places import chances
from rhythmtrain.assess.findings import Findings
from rhythmtrain.assess.instead.rows import rows_of
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.written import Written, written_of
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Timeline, lay_out
from tests.simulate.players import Claps, Floats, Random, careless, clapped, honest, noisy
from tests.simulate.rhythms import drawn_passage, seeded

START_S = 5.0
# How a take is checked: the speed and the start, where they are known.
KNOWN: dict[str, tuple[float | None, float | None]] = {
    "all known": (1.0, START_S),
    "start unknown": (1.0, None),
    "tempo unknown": (None, None),
}
Player = Callable[[Random, Timeline], Claps]


def beat_clapped(
    rng: Random, timeline: Timeline, row: Row = Row.BEAT, *, drift: float = 0
) -> Claps:
    """Return ``row`` clapped through the passage, getting slower by ``drift`` of the tempo."""
    times = dict(rows_of(timeline))[row].times_s
    slower = 1 + drift * (np.arange(len(times)) / len(times) - 0.5)
    times = times[0] + np.cumsum(np.diff(times, prepend=times[0]) * slower)
    spread_s, missed = rng.uniform(0.02, 0.04), rng.uniform(0, 0.12)
    played = times + START_S - 0.03 + rng.normal(0, spread_s, len(times))
    return careless(rng, clapped(played), missed=missed, extra=0.03)


def drifting_beat(rng: Random, timeline: Timeline) -> Claps:
    """Return the beat clapped with nothing that keeps time, at a tempo of the player's own."""
    claps = beat_clapped(rng, timeline, drift=float(rng.uniform(-0.08, 0.08)))
    return clapped(claps.times_s * float(rng.uniform(0.8, 1.25)))


def weak(rng: Random, timeline: Timeline) -> Claps:
    """Return an attempt with a tenth to half of its notes missed and up to 40 % claps too many."""
    times = written_of(timeline).times_s + START_S
    played = noisy(rng, times, fixed_s=0.02, share=float(rng.uniform(0.04, 0.15)))
    missed, extra = float(rng.uniform(0.1, 0.5)), float(rng.uniform(0.05, 0.4))
    return careless(rng, clapped(played), missed=missed, extra=extra)


def on_the_beat_mostly(rng: Random, timeline: Timeline) -> Claps:
    """Return an attempt without half the notes off the beat, and a quarter of the other beats."""
    written = written_of(timeline)
    times = written.times_s + START_S
    kept = written.on_beat | (rng.random(len(times)) < 0.5)
    beats = dict(rows_of(timeline))[Row.BEAT].times_s + START_S
    alone = np.abs(beats[:, None] - times[None, :]).min(axis=1) > 0.1
    more = beats[alone & (rng.random(len(beats)) < 0.25)]
    played = noisy(rng, times, fixed_s=0.02)[kept]
    return clapped(np.concatenate((played, more + rng.normal(0, 0.03, len(more)))))


def every_other_bar(rng: Random, timeline: Timeline) -> Claps:
    """Return the rhythm in every other bar and the beat in those between."""
    written, beats = written_of(timeline), dict(rows_of(timeline))[Row.BEAT]
    odd = int(rng.integers(2))
    times: Floats = np.concatenate(
        (written.times_s[written.place % 2 == odd], beats.times_s[beats.place % 2 != odd])
    )
    played = times + START_S + rng.normal(0, 0.03, len(times))
    return careless(rng, clapped(played), missed=0.05, extra=0.05)


def misread(rng: Random, timeline: Timeline) -> Claps:
    """Return an honest take in which one kind of figure is played as another everywhere."""
    written = written_of(timeline)
    times = honest(rng, written.times_s + START_S, written.beat)
    found = [chance for chance in chances(timeline) if not chance.after]
    kinds = sorted({chance.what for chance in found})
    kind = str(rng.choice(kinds)) if kinds else ""
    _move(times, written, timeline, kind)
    return careless(rng, clapped(np.sort(times)), missed=0.1, extra=0.1)


def _move(times: Floats, written: Written, timeline: Timeline, kind: str) -> None:
    rank = {int(index): number for number, index in enumerate(written.index)}
    for chance in chances(timeline):
        if chance.what == kind and not chance.after:
            for note, by in chance.moved:
                at = timeline.notes[note].at
                times[rank[note]] += timeline.seconds(at + by) - timeline.seconds(at)


ATTEMPTS: dict[str, Player] = {
    "weak": weak,
    "beats mostly": on_the_beat_mostly,
    "every other bar": every_other_bar,
    "misread": misread,
}


def drawn(half: str, number: int) -> Passage:
    """Return a passage of 14 to 50 notes, two in five with a rest of one to four bars."""
    rng = seeded(half, number)
    notes = int(rng.integers(14, 50))
    rests = (int(rng.integers(1, 5)),) if rng.random() < 0.4 else ()
    return drawn_passage(half, rng, notes=notes, rests=rests)


def heard(passage: Passage, player: Player, known: str, number: int) -> Findings:
    """Return what is found in one take of ``passage``."""
    timeline = lay_out(passage)
    rng = np.random.default_rng((number, len(known), len(passage.bars)))
    claps = player(rng, timeline)
    speed, start_s = KNOWN[known]
    return check_take(timeline, claps.take(), Settings(speed=speed, start_s=start_s))
