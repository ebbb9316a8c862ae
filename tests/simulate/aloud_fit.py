"""The weights by which a player's strokes are sorted: ``python -m tests.simulate.aloud_fit [takes]``.

Logistic regression (ridge of 1 on standardised columns) on the half "tune".  A candidate within
6 ms of a true stroke is one, one further than 45 ms is not, the others do not count.  The takes
without any stroke are left out: the player's own sound is what the second sum is about.
"""

import sys

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.onsets import candidates
from rhythmtrain.hearing.onsets.sorting import familiarity, likeness, usual_stroke
from rhythmtrain.hearing.onsets.sounds_apart import Sounds, stacked
from tests.simulate.aloud_takes import CASES, aloud_take

Array = NDArray[np.float64]
IS_S, IS_NOT_S = 0.006, 0.045


def heard(half: str, count: int) -> list[tuple[Sounds, Array]]:
    """Return the candidates of each take, and how far in seconds each lies from a true stroke."""
    found = []
    for name, case in CASES.items():
        if case.kind != "claps" or case.rest:
            continue
        for number in range(count):
            scene = aloud_take(half, name, number).scene
            near = candidates(scene.sound, scene.rate)
            times = np.array([onset.time_s + stroke.moved_s for onset, stroke in near])
            off = np.abs(times[:, None] - np.array(scene.onsets_s)).min(axis=1)
            found.append((stacked([stroke for _, stroke in near]), off))
    return found


def fitted(columns: Array, truth: Array, *, ridge: float = 1.0) -> Array:
    """Return constant and weights of the logistic regression of ``truth`` on ``columns``."""
    mean, spread = columns.mean(axis=0), columns.std(axis=0)
    x = np.column_stack([np.ones(len(columns)), (columns - mean) / spread])
    penalty = np.diag([0.0] + [ridge] * columns.shape[1])
    weights = np.zeros(x.shape[1])
    for _ in range(50):
        chance = 1 / (1 + np.exp(-np.clip(x @ weights, -30, 30)))
        slope = x.T @ (truth - chance) - penalty @ weights
        curve = (x * (chance * (1 - chance))[:, None]).T @ x + penalty
        weights += np.linalg.solve(curve, slope)
    own = weights[1:] / spread
    return np.array([weights[0] - own @ mean, *own])


def main(count: int) -> None:
    """Print both tables of weights from ``count`` takes of each case."""
    takes = heard("tune", count)
    off = np.concatenate([each for _, each in takes])
    sure = (off < IS_S) | (off > IS_NOT_S)
    truth = (off < IS_S).astype(float)[sure]
    like = [likeness(sounds) for sounds, _ in takes]
    first = fitted(np.concatenate(like)[sure], truth)
    logits = [each @ first[1:] + first[0] for each in like]
    columns = [
        familiarity(sounds, each, usual_stroke(sounds, each))
        for (sounds, _), each in zip(takes, logits, strict=True)
    ]
    second = fitted(np.concatenate(columns)[sure], truth)
    for name, weights in (("LIKENESS", first), ("FAMILIARITY", second)):
        print(f"{name} = ({', '.join(f'{weight:.3g}' for weight in weights)})")  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 9)
