"""How well the coach's estimates find a skill that is known, printed as a table.

``python -m tests.simulate.coach_table [TAKES [SEED]]``.  Every note of a student is spread by so
many times the spread of a steady player at that tempo (Baath and Madison 2012; see
``assess.tolerance``), as a bell; every take goes through the whole of ``check_take``.  Of each
student so many takes say how large the share of right runs truly is; from as many others, ten
runs at a time, the coach estimates it.
"""

import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

import numpy as np

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.tolerance import spread_s
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.coach.estimate import estimate
from rhythmtrain.coach.evidence import BarRuns, Practised
from rhythmtrain.coach.runs_heard import runs_heard
from rhythmtrain.coach.skill import state_of
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from rhythmtrain.units import beat_seconds
from tests.simulate.heard import passage_of

RHYTHM = "1 e [&] a 2 & | 1 & [2] & | (1) & a 2 & | 1 (2)"
TEMPO = 60.0
DAY = date(2026, 3, 1)
REPEATS = 2
HABIT_S = -0.02


@dataclass(frozen=True)
class Student:
    """A student of known spread, and what was heard of all their takes."""

    times: float
    heard: tuple[tuple[int, int, Findings], ...]

    @property
    def share(self) -> float:
        """Return the share of right runs over all takes."""
        runs = sum(each[0] for each in self.heard)
        return sum(each[1] for each in self.heard) / runs


def passage() -> Passage:
    """Return four bars with a syncopation, at 60."""
    return passage_of(RHYTHM, tempo=TEMPO)


def take_of(timeline: Timeline, offsets_s: Sequence[float]) -> Findings:
    """Return what is heard of a take whose notes come so late, and None of those that are nan."""
    aims = [float(timeline.track_seconds(note.at)) for note in timeline.notes if note.expected]
    times = sorted(a + o for a, o in zip(aims, offsets_s, strict=True) if not np.isnan(o))
    take = Take("keys", "keys", tuple(map(Heard, times)), times[-1] + 1.0)
    return check_take(
        timeline, take, Settings(start_s=float(timeline.track_seconds(Fraction(0))), speed=1.0)
    )


def played(times: float, takes: int, rng: np.random.Generator) -> Student:
    """Return a student of ``times`` the spread of a steady player, heard in so many takes."""
    timeline = lay_out(passage(), Practice(repeats=REPEATS, count_in=1))
    notes = sum(note.expected for note in timeline.notes)
    sigma_s = times * float(spread_s(beat_seconds(TEMPO)))
    heard = []
    for _ in range(takes):
        findings = take_of(timeline, list(HABIT_S + rng.normal(0, sigma_s, notes)))
        runs = runs_heard(timeline, findings, exact=True)
        heard.append((len(runs), sum(run.right for run in runs), findings))
    return Student(times, tuple(heard))


def estimates(student: Student, takes: int) -> Iterator[tuple[float, float, float]]:
    """Yield (expected share, low, high with 90 %) from every ``takes`` takes in a row."""
    for first in range(0, len(student.heard) - takes + 1, takes):
        rows = [(DAY, runs, right) for runs, right, _ in student.heard[first : first + takes]]
        known = estimate(rows, DAY, 7.0)
        yield known.share, *known.between()


def evenness(student: Student) -> float:
    """Return the spread that the coach finds, times that of a steady player, over all bars."""
    rows = [
        BarRuns(DAY, TEMPO, bar.bar, 1, bar.matched, bar.missed, bar.extra, bar.sd_s)
        for _, _, findings in student.heard
        for bar in findings.bars
    ]
    state = state_of(Practised("", "", TEMPO, bars=tuple(rows)), DAY)
    return float(np.mean([bar.evenness.ratio for bar in state.bars if bar.evenness is not None]))


def main(takes: int, seed: int) -> None:
    """Print a line for each student."""
    rng = np.random.default_rng(seed)
    print("spread  share right  estimated from 10 runs: error  in the 90 % interval  evenness")  # noqa: T201
    for times in (0.7, 1.0, 1.3, 1.6, 2.0, 2.5):
        truth, student = played(times, takes, rng), played(times, takes, rng)
        found = list(estimates(student, 5))
        error = np.mean([abs(share - truth.share) for share, _, _ in found])
        inside = np.mean([low <= truth.share <= high for _, low, high in found])
        print(  # noqa: T201
            f"{times:6.1f} {truth.share:12.2f} {error:29.2f} {inside:22.2f} {evenness(student):9.2f}"
        )


if __name__ == "__main__":
    main(*(int(each) for each in [*sys.argv[1:], *("150", "11")[len(sys.argv) - 1 :]]))
