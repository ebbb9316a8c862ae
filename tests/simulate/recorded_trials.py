"""Trials of judging beside a recording: accompanists who breathe, maps that are not quite right.

The accompanist's tempo follows one of the three models of ``tempo_curves``; *steady* is what
singers' accompanists do (bars' durations spread by 4 to 8 %), *expressive* what soloists do (10 to
18 %).  The beat map is wrong by a normal error of 5 to 25 ms a beat, and says so.  The player is an
honest one (``players``) who follows the accompanist, not the map.  Who floats does so in another
way in each set of passages, so that no threshold is praised by the float it was chosen on.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.meeting.meeting import places_to_meet
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.written import Written, written_of
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.timing.beside_recording import on_recording
from rhythmtrain.timing.recorded_bars import map_passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.players import Claps, Random, careless, clapped, unsteadiness
from tests.simulate.rhythms import drawn_passage, seeded
from tests.simulate.tempo_curves import MODELS, seconds_of

Floats = NDArray[np.float64]

SPREADS = {"steady": (0.04, 0.08), "expressive": (0.10, 0.18)}
START_S = 5.0
BARS_AROUND = 3
MOST_FLOAT_SHARE = 0.12
FLAGGED = (Verdict.EARLY, Verdict.LATE)
LITTLE = {Verdict.IN_TIME, Verdict.EARLY, Verdict.LATE}
# How far one has floated, of the most, along the way from one meeting (0) to the next (1): in a
# half wave; soon away and slowly back; away at once and staying there.
FLOATS: Mapping[str, Callable[[Floats], Floats]] = {
    "tune": lambda along: np.sin(np.pi * along),
    "held out": lambda along: np.sin(np.pi * np.sqrt(along)),
    "unseen": lambda along: np.clip(4 * np.minimum(along, 1 - along), 0, 1),
}
MOVES: dict[str, float | None] = {
    "right": 0.0,
    "one beat early": -1.0,
    "one beat late": 1.0,
    "one bar early": None,
    "half a beat early": -0.5,
}


@dataclass(frozen=True, slots=True)
class Accompanied:
    """A passage with its accompanist.

    ``beats`` and ``beats_s`` are places in beats from bar 1 of the passage and the seconds at which
    the accompanist really played them, ``mapped`` the map of it; ``timeline`` is laid on the map.
    """

    half: str
    rng: Random
    timeline: Timeline
    written: Written
    beats: Floats
    beats_s: Floats
    mapped: BeatMap

    def truly_s(self, later: Floats | float = 0.0) -> Floats:
        """Return when the accompanist came to each note's place, or so many beats after it."""
        places = self.written.at / self.written.beat_quarters + later
        return np.asarray(np.interp(places, self.beats, self.beats_s))

    def at_speed(self, speed: float) -> Timeline:
        """Return the timeline beside the recording slowed to ``speed``."""
        passage = self.timeline.passage
        slow = lay_out(passage, Practice(speed=speed))
        return on_recording(slow, map_passage(passage, self.mapped))

    def honest(self, later: Floats | float = 0.0) -> Floats:
        """Return when an honest player plays the notes, ahead by 20 to 60 ms, from bar 1 on."""
        lead = float(self.rng.uniform(0.02, 0.06))
        uneven = unsteadiness(self.rng, len(self.written.at), self.written.beat)
        bar_1 = float(self.timeline.seconds(Fraction(0)))
        return np.asarray(self.truly_s(later) - self._origin_s() - bar_1 - lead + uneven)

    def floating(self, most_beats: float, later: Floats | float = 0.0) -> Floats:
        """Return when somebody plays the notes who floats, by up to so much, between the meetings.

        From each place to meet to the next, ahead or behind as the player likes (``FLOATS``).
        """
        places = [*places_to_meet(self.timeline)]
        at = self.written.at / self.written.beat_quarters
        float_beats = np.zeros(len(at))
        for first, stop in pairwise(places):
            span = slice(first, stop)
            along = (at[span] - at[first]) / (at[stop] - at[first])
            room = min(most_beats, MOST_FLOAT_SHARE * float(at[stop] - at[first]))
            float_beats[span] = self.rng.uniform(-room, room) * FLOATS[self.half](along)
        return np.sort(self.honest(later + float_beats))

    def entered(self, beats: float | None, *, after: int) -> Claps:
        """Return a take whose last phrase came in ``beats`` (None: minus a bar) after its place."""
        entry = self.timeline.entries[-1].note
        bar = float(self.written.bar_quarters[entry] / self.written.beat_quarters[entry])
        later = np.zeros(len(self.written.at))
        later[entry:] = -bar if beats is None else beats
        times = self.honest(later)[: entry + after] + START_S
        return careless(self.rng, clapped(times), missed=0.02, extra=0.02)

    def _origin_s(self) -> float:
        """Return the second of the recording at which the map has bar 1."""
        return self.mapped.second_of(self.timeline.passage.bars[0].number)

    def judged(self, claps: Claps, *, start_s: float | None = None) -> Findings:
        """Return what is found in a take of ``claps``."""
        return check_take(self.timeline, claps.take(), Settings("recording", start_s))


def accompanied(
    half: str, seed: int, *, manner: str, notes: int, rests: tuple[int, ...] = ()
) -> Accompanied:
    """Return the passage with this seed and its accompanist."""
    rng = seeded(half, seed)
    drawn = drawn_passage(half, rng, notes=notes, rests=rests)
    later = tuple(replace(bar, number=bar.number + BARS_AROUND) for bar in drawn.bars)
    passage = replace(drawn, bars=later)
    count = len(passage.metre.beats)
    beats, seconds = seconds_of(
        rng,
        bars=len(passage.bars) + 2 * BARS_AROUND,
        beats=count,
        beat_s=60 / passage.tempo,
        model=str(rng.choice(sorted(MODELS))),
        spread=float(rng.uniform(*SPREADS[manner])),
    )
    seconds = seconds + 1.0
    mapped = _mapped(rng, passage, beats, seconds)
    timeline = on_recording(lay_out(passage), map_passage(passage, mapped))
    shifted = beats - BARS_AROUND * count
    return Accompanied(half, rng, timeline, written_of(timeline), shifted, seconds, mapped)


def _mapped(rng: Random, passage: Passage, beats: Floats, seconds: Floats) -> BeatMap:
    """Return the map of all beats, three bars before the passage and three after it too."""
    count = len(passage.metre.beats)
    number = (len(passage.bars) + 2 * BARS_AROUND) * count
    error = float(rng.uniform(0.005, 0.025))
    times = np.interp(np.arange(number), beats, seconds) + rng.normal(0, error, number)
    first = passage.bars[0].number - BARS_AROUND
    return BeatMap(
        tuple(
            MappedBeat(float(time), first + index // count, 1 + index % count, error)
            for index, time in enumerate(np.maximum.accumulate(times))
        )
    )


def honest_beside(
    half: str, count: int, *, manner: str, given: bool, speed: float = 1.0
) -> tuple[float, float, float]:
    """Return, for each 100 notes of honest players: plain, in time, missed."""
    plain = in_time = missed = notes = 0
    for seed in range(count):
        take = accompanied(half, 30_000 + seed, manner=manner, notes=40)
        claps = clapped(take.honest() / speed + START_S)
        settings = Settings("recording", START_S if given else None, speed)
        findings = check_take(take.at_speed(speed), claps.take(), settings)
        plain += sum(note.plain and note.verdict in FLAGGED for note in findings.notes)
        in_time += sum(note.verdict is Verdict.IN_TIME for note in findings.notes)
        missed += findings.tally.missed + findings.tally.not_checked
        notes += findings.tally.expected
    return 100 * plain / notes, 100 * in_time / notes, 100 * missed / notes


def freely_beside(
    half: str, count: int, *, manner: str, floats: float, meeting: bool = True
) -> tuple[float, float, float, float]:
    """Return, for each 100 notes of players who float: plain, in time, missed, mistakes named.

    Without ``meeting`` every note is held against the recording.
    """
    totals = np.zeros(5)
    for seed in range(count):
        take = accompanied(half, 50_000 + seed, manner=manner, notes=40, rests=(2, 1))
        claps = clapped(take.floating(floats) + START_S)
        asked = Settings("recording", START_S, meet=() if meeting else None)
        findings = check_take(take.timeline, claps.take(), asked)
        plain = sum(note.plain and note.verdict in FLAGGED for note in findings.notes)
        in_time = sum(note.verdict is Verdict.IN_TIME for note in findings.notes)
        missed = findings.tally.missed + findings.tally.not_checked
        named = len(findings.mistakes)
        totals += plain, in_time, missed, named, findings.tally.expected
    plain, in_time, missed, named = (100 * totals[:4] / totals[4]).tolist()
    return plain, in_time, missed, named


def freely_entered(half: str, count: int, *, manner: str, floats: float) -> dict[str, float]:
    """Return how often the last entry of players who float was put in the right class.

    "in time" is how often one that came as written was called neither early nor late.
    """
    hits: dict[str, list[bool]] = {name: [] for name in (*MOVES, "in time")}
    for seed in range(count):
        for name, beats in MOVES.items():
            take = accompanied(half, 60_000 + seed, manner=manner, notes=24, rests=(2, 3))
            entry = take.timeline.entries[-1].note
            bar = float(take.written.bar_quarters[entry] / take.written.beat_quarters[entry])
            later = np.zeros(len(take.written.at))
            later[entry:] = -bar if beats is None else beats
            claps = clapped(take.floating(floats, later) + START_S)
            asked = Settings("recording", START_S, meet=())
            verdict = check_take(take.timeline, claps.take(), asked).entries[-1].verdict
            hits[name].append(verdict in (LITTLE if name == "right" else {name}))
            if name == "right":
                hits["in time"].append(verdict == Verdict.IN_TIME)
    return {name: float(np.mean(each)) for name, each in hits.items()}


def entries_beside(
    half: str, count: int, *, manner: str, given: bool = True, after: int = 8
) -> dict[str, float]:
    """Return how often an entry was put in the right class, by what was done."""
    hits: dict[str, list[bool]] = {name: [] for name in MOVES}
    for seed in range(count):
        for name, beats in MOVES.items():
            take = accompanied(half, 40_000 + seed, manner=manner, notes=16, rests=(2 + seed % 4,))
            if not take.timeline.entries:
                continue
            findings = take.judged(
                take.entered(beats, after=after), start_s=START_S if given else None
            )
            verdict = findings.entries[-1].verdict
            hits[name].append(verdict in (LITTLE if name == "right" else {name}))
    return {name: float(np.mean(each)) for name, each in hits.items()}
