"""How well claps are told from own noise: ``python -m tests.simulate.aloud_table [takes] [first]``.

Both halves, from take ``first`` on; beside it the same takes heard plainly, as if nobody counted
aloud.  *False* are onsets a minute where nothing was played, *before* how many noises a beat before
an entry became one, *refused* in how many takes no clap was found to stand out; F50 and what was
missed are of the other takes.
"""

import sys
from dataclasses import dataclass

import numpy as np

from rhythmtrain.hearing.onsets.onsets import find_onsets
from tests.simulate.aloud_takes import CASES, HALVES, AloudTake, aloud_take
from tests.simulate.onset_score import WINDOW_S, Score, scored
from tests.simulate.sounds import Scene
from tests.simulate.talked_takes import talk_alone

NEAR_S = 0.3
TALK = "talk, no clap"


@dataclass(frozen=True, slots=True)
class Row:
    """One case: the score, minutes, and entries that came a beat early by a breath."""

    score: Score
    minutes: float
    before: int
    entries: int
    refused: int

    @property
    def false(self) -> float:
        """Return onsets a minute where nothing was played."""
        return (self.score.found - self.score.matched) / self.minutes

    def __str__(self) -> str:
        """Return the row as text."""
        score = self.score
        late = f"{1000 * score.error_s(95):5.1f}" if score.matched else "    -"
        said = f"{score.f:.3f} {self.false:6.1f} {score.true - score.matched:4d}/{score.true:<4d} {late}"
        return f"{said} {self.before:2d}/{self.entries:<3d} {self.refused:2d}"


def measured(half: str, name: str, count: int, *, aloud: bool = True, first: int = 0) -> Row:
    """Return how ``count`` takes of the case ``name`` are heard."""
    pairs, minutes, before, entries, refused = [], 0.0, 0, 0, 0
    for number in range(first, first + count):
        take = _take(half, name, number)
        scene = take.scene
        kind = CASES[name].kind if name in CASES else "claps"
        heard = [o.time_s for o in find_onsets(scene.sound, scene.rate, kind=kind, aloud=aloud)]
        minutes += scene.sound.size / scene.rate / 60
        before += _taken_for_entries(take, heard)
        entries += len(take.before_s)
        refused += not heard
        if heard:
            pairs.append((scene.onsets_s, heard))
    return Row(scored(pairs), minutes, before, entries, refused)


def _take(half: str, name: str, number: int) -> AloudTake:
    if name in CASES:
        return aloud_take(half, name, number)
    return AloudTake(Scene(*talk_alone(half, number), ()), ())


def _taken_for_entries(take: AloudTake, heard: list[float]) -> int:
    """Return how many noises before an entry were heard as something played."""
    truth = np.array([*take.scene.onsets_s, np.inf])
    false = [time for time in heard if np.abs(truth - time).min() > WINDOW_S]
    return sum(any(abs(time - at) < NEAR_S for time in false) for at in take.before_s)


def main(count: int, first: int) -> None:
    """Print the table from ``count`` takes of each case."""
    for half in HALVES:
        print(f"{half:24s} F50   false  missed    p95  before refused | heard plainly")  # noqa: T201
        for name in (*CASES, TALK):
            aloud, plain = (
                measured(half, name, count, aloud=each, first=first) for each in (True, False)
            )
            print(f"{name:24s} {aloud} | {plain}", flush=True)  # noqa: T201


if __name__ == "__main__":
    words = sys.argv[1:]
    main(int(words[0]) if words else 6, int(words[1]) if len(words) > 1 else 0)
