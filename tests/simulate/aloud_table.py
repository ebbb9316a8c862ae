"""How well claps are told from the player's own noise: ``python -m tests.simulate.aloud_table [takes]``.

Both halves; beside it the same takes heard plainly, as if nobody counted aloud.  *False* are onsets
a minute where nothing was played, *before* how many noises a beat before an entry became one.
"""

import sys
from dataclasses import dataclass

import numpy as np

from rhythmtrain.hearing.onsets import find_onsets
from tests.simulate.aloud_takes import CASES, HALVES, AloudTake, aloud_take
from tests.simulate.onset_score import WINDOW_S, Score, scored

NEAR_S = 0.3


@dataclass(frozen=True, slots=True)
class Row:
    """One case: the score, minutes, and entries that came a beat early by a breath."""

    score: Score
    minutes: float
    before: int
    entries: int

    @property
    def false(self) -> float:
        """Return onsets a minute where nothing was played."""
        return (self.score.found - self.score.matched) / self.minutes

    def __str__(self) -> str:
        """Return the row as text."""
        score = self.score
        late = f"{1000 * score.error_s(95):5.1f}" if score.matched else "    -"
        said = f"{score.f:.3f} {self.false:6.1f} {score.true - score.matched:4d}/{score.true:<4d} {late}"
        return f"{said} {self.before:2d}/{self.entries:<3d}"


def measured(half: str, name: str, count: int, *, aloud: bool = True) -> Row:
    """Return how ``count`` takes of the case ``name`` are heard."""
    kind = CASES[name].kind
    pairs, minutes, before, entries = [], 0.0, 0, 0
    for number in range(count):
        take = aloud_take(half, name, number)
        scene = take.scene
        heard = [o.time_s for o in find_onsets(scene.sound, scene.rate, kind=kind, aloud=aloud)]
        pairs.append((scene.onsets_s, heard))
        minutes += scene.sound.size / scene.rate / 60
        before += _taken_for_entries(take, heard)
        entries += len(take.before_s)
    return Row(scored(pairs), minutes, before, entries)


def _taken_for_entries(take: AloudTake, heard: list[float]) -> int:
    """Return how many noises before an entry were heard as something played."""
    truth = np.array([*take.scene.onsets_s, np.inf])
    false = [time for time in heard if np.abs(truth - time).min() > WINDOW_S]
    return sum(any(abs(time - at) < NEAR_S for time in false) for at in take.before_s)


def main(count: int) -> None:
    """Print the table from ``count`` takes of each case."""
    for half in HALVES:
        print(f"{half:24s} F50   false  missed    p95  before | heard plainly")  # noqa: T201
        for name in CASES:
            aloud, plain = (measured(half, name, count, aloud=each) for each in (True, False))
            print(f"{name:24s} {aloud} | {plain}", flush=True)  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 6)
