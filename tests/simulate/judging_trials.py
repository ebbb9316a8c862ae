"""Trials of judging with known times: simulated takes judged, and how often that was right.

Every trial takes the half of the passages it draws from and how many takes to draw.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.assess.figures.places import chances
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.tolerance import line_s
from rhythmtrain.assess.written import Written, written_of
from rhythmtrain.timing.timeline import Timeline, lay_out
from tests.simulate.players import Claps, Random, careless, clapped, honest, noisy
from tests.simulate.rhythms import drawn_passage, seeded
from tests.simulate.sessions import session

START_S = 5.0
START_NEAR_S = 0.060
PLAIN_VERDICTS = (Verdict.EARLY, Verdict.LATE)
BAR_SIZES = (("half a beat", 0.5), ("one beat", 1.0), ("one bar", None))


@dataclass(frozen=True, slots=True)
class Drawn:
    """One passage drawn for a trial."""

    rng: Random
    timeline: Timeline
    written: Written

    def judged(
        self, claps: Claps, *, speed: float | None = 1.0, start_s: float | None = None
    ) -> Findings:
        """Return what is found in a take of ``claps``."""
        return check_take(self.timeline, claps.take(), Settings(speed=speed, start_s=start_s))


def drawn(half: str, seed: int, *, notes: int, rests: tuple[int, ...] = ()) -> Drawn:
    """Return the passage with this seed."""
    rng = seeded(half, seed)
    timeline = lay_out(drawn_passage(half, rng, notes=notes, rests=rests))
    return Drawn(rng, timeline, written_of(timeline))


def right_pairs(claps: Claps, findings: Findings, written: Written) -> tuple[int, int, int]:
    """Return (right pairs, pairs made, pairs there were)."""
    rank = {int(index): number for number, index in enumerate(written.index)}
    made = {
        (rank[note.note], round(note.played_s, 6))
        for note in findings.notes
        if note.played_s is not None
    }
    there = {
        (int(note), round(float(time), 6))
        for time, note in zip(claps.times_s, claps.meant, strict=True)
        if note >= 0
    }
    return len(made & there), len(made), len(there)


def pairs_trial(half: str, count: int, *, share: float, notes: int) -> tuple[float, float, float]:
    """Return precision and recall of pairs, and how often the start was found within 60 ms.

    Noise of 10 ms and 4 % of the interval, ``share`` of the notes missed and as many claps more.
    """
    totals = np.zeros(3)
    found = 0
    for seed in range(count):
        take = drawn(half, seed, notes=notes)
        played = noisy(take.rng, take.written.times_s + START_S)
        claps = careless(take.rng, clapped(played), missed=share, extra=share)
        findings = take.judged(claps)
        totals += right_pairs(claps, findings, take.written)
        found += abs(findings.start_s - START_S) <= START_NEAR_S
    return totals[0] / totals[1], totals[0] / totals[2], found / count


def honest_trial(
    half: str, count: int, *, speed: float | None, given: bool
) -> tuple[float, float, float, float]:
    """Return, for each 100 notes of honest players: plain, in time, missed, mistakes named."""
    plain = in_time = missed = notes = named = 0
    for seed in range(count):
        take = drawn(half, 1000 + seed, notes=48)
        claps = clapped(honest(take.rng, take.written.times_s + START_S, take.written.beat))
        findings = take.judged(claps, speed=speed, start_s=START_S if given else None)
        plain += sum(note.plain and note.verdict in PLAIN_VERDICTS for note in findings.notes)
        in_time += sum(note.verdict is Verdict.IN_TIME for note in findings.notes)
        missed += findings.tally.missed + findings.tally.not_checked
        notes += findings.tally.expected
        named += len(findings.mistakes)
    return 100 * plain / notes, 100 * in_time / notes, 100 * missed / notes, 100 * named / notes


def refused(half: str, count: int, kind: str, *, share: float, notes: int) -> float:
    """Return how often takes of ``kind`` ("right", "honest", "other") are refused."""
    refusals = 0
    for seed in range(count):
        take = drawn(half, 20_000 + seed, notes=notes)
        rng, times = take.rng, take.written.times_s
        if kind == "other":
            times = other_passage(half, take).times_s
        played = honest(rng, times, take.written.beat) if kind == "honest" else noisy(rng, times)
        claps = careless(rng, clapped(played + START_S), missed=share, extra=share)
        refusals += take.judged(claps).looks_like is False
    return refusals / count


def other_passage(half: str, take: Drawn) -> Written:
    """Return another passage in the same metre and tempo as the one drawn."""
    passage = take.timeline.passage
    while True:
        other = drawn_passage(half, take.rng, notes=len(take.written.times_s))
        if other.metre == passage.metre:
            return written_of(lay_out(replace(other, tempo=passage.tempo)))


def tries_trial(half: str, count: int, kind: str) -> tuple[float, float, float]:
    """Return how often all tries were told apart, and stops or getting lost told with their bars.

    The third is the share of pairs that were right.
    """
    apart = told = 0
    totals = np.zeros(3)
    for seed in range(count):
        take = drawn(half, 5000 + seed, notes=48)
        made = session(kind, take.rng, take.written)
        findings = take.judged(made.claps)
        right = findings.tries[findings.shown].complete
        apart += right and len(findings.tries) == len(made.tries)
        wanted = [f"stopped in bar {a}, began again at bar {b}" for a, b in _bars(take, made.backs)]
        if made.lost is not None:
            wanted += [f"lost in bar {a}, back in at bar {b}" for a, b in _bars(take, (made.lost,))]
        told += all(words in findings.remarks for words in wanted)
        totals += right_pairs(made.claps, findings, take.written)
    return apart / count, told / count, totals[0] / totals[1]


def _bars(take: Drawn, pairs: tuple[tuple[int, int], ...]) -> Iterator[tuple[int, int]]:
    for pair in pairs:
        first, second = (take.timeline.notes[int(take.written.index[n])].note.bar for n in pair)
        yield first, second


def entries_trial(half: str, count: int, *, after: int, given: bool) -> dict[str, float]:
    """Return how often an entry was put in the right class, by what was done.

    ``after`` is how many notes are played from the entry on.  "right" asks for in time, early or
    late, because honest players may be; all others ask for the very words.
    """
    hits: dict[str, list[bool]] = {"right": []}
    for seed in range(count):
        for words, beats in BAR_SIZES:
            for side, name in ((-1, "early"), (1, "late")):
                done = _entry(half, seed, after, given=given, beats=beats, side=side)
                if done is not None:
                    hits.setdefault(words, []).append(done == f"{words} {name}")
        done = _entry(half, seed, after, given=given, beats=0.0, side=1)
        if done is not None:
            hits["right"].append(done in {"in time", "early", "late"})
    return {words: float(np.mean(each)) for words, each in hits.items()}


def _entry(
    half: str, seed: int, after: int, *, given: bool, beats: float | None, side: int
) -> str | None:
    """Return the verdict on an entry that came ``beats`` (None: a bar) early or late."""
    rng = seeded(half, 9000 + seed)
    passage = drawn_passage(half, rng, notes=2 * after, rests=(int(rng.integers(2, 5)),))
    timeline = lay_out(passage)
    if not timeline.entries:
        return None
    entry = timeline.entries[0].note
    last = timeline.notes[min(len(timeline.notes) - 1, entry + after - 1)].place
    timeline = lay_out(replace(passage, bars=passage.bars[: last + 1]))
    written = written_of(timeline)
    times = honest(rng, written.times_s + START_S, written.beat)
    times[entry:] += side * (
        written.bar_s[entry] if beats is None else beats * written.beat_s[entry]
    )
    claps = careless(rng, clapped(times), missed=0.02, extra=0.02)
    if entry not in claps.meant:
        return None
    take = Drawn(rng, timeline, written)
    return take.judged(claps, start_s=START_S if given else None).entries[0].verdict


def shift_trial(half: str, count: int, beats: float) -> float:
    """Return how often a take wholly ``beats`` away from a given start was told so exactly."""
    hits = 0
    for seed in range(count):
        take = drawn(half, 7000 + seed, notes=32)
        late = beats * float(take.written.beat_s[0])
        played = honest(take.rng, take.written.times_s + START_S, take.written.beat) + late
        claps = careless(take.rng, clapped(played), missed=0.03, extra=0.03)
        hits += take.judged(claps, start_s=START_S).shift_beats == beats
    return hits / count


def speed_trial(half: str, count: int) -> float:
    """Return how often a speed between 0.5 and 2 was found within 1 %."""
    hits = 0
    for seed in range(count):
        take = drawn(half, 11_000 + seed, notes=48)
        speed = float(2 ** take.rng.uniform(-0.95, 0.95))
        written = take.written.faster(speed)
        played = honest(take.rng, written.times_s + START_S, written.beat)
        claps = careless(take.rng, clapped(played), missed=0.05, extra=0.05)
        hits += abs(take.judged(claps, speed=None).speed / speed - 1) < 0.01
    return hits / count


def figures_trial(half: str, count: int) -> dict[str, float]:
    """Return how often one figure of an honest take, played as another, was named so, by name.

    Every passage has one of each kind that it offers displaced in turn; only figures that lie
    farther from the written one than honest notes do.
    """
    hits: dict[str, list[bool]] = {}
    for seed in range(count):
        take = drawn(half, 13_000 + seed, notes=40)
        rank = {int(index): number for number, index in enumerate(take.written.index)}
        kinds = {
            chance.what: chance
            for chance in chances(take.timeline)
            if not chance.after and _beyond_honest(take, chance)
        }
        played = honest(take.rng, take.written.times_s + START_S, take.written.beat)
        for what, chance in kinds.items():
            times = played.copy()
            for note, by in chance.moved:
                at = take.timeline.notes[note].at
                times[rank[note]] += take.timeline.seconds(at + by) - take.timeline.seconds(at)
            findings = take.judged(clapped(times), start_s=START_S)
            bar = take.timeline.notes[chance.notes[0]].note.bar
            named = any(each.what == what and each.bar == bar for each in findings.mistakes)
            hits.setdefault(what, []).append(named)
    return {what: float(np.mean(each)) for what, each in sorted(hits.items())}


def _beyond_honest(take: Drawn, chance: Chance) -> bool:
    """Return True when a note of the wrong figure lies beyond the 99 % line of honest notes."""
    beat_s = float(take.written.beat)
    tempo = take.timeline.tempo
    most = max(abs(float(by)) / tempo.speed_at(Fraction(0)) for _, by in chance.moved)
    return most > float(line_s(beat_s, 99))
