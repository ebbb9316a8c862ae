"""The table of what the onset detector reaches: ``python -m tests.simulate.onset_table [takes]``.

Beside it, on the same takes, librosa's superflux with its constant offset removed on each set.
"""

import sys
import time

from rhythmtrain.hearing.onsets.onsets import find_onsets
from tests.simulate.onset_score import Score, scored
from tests.simulate.scenes import HELD_OUT, SETS, takes
from tests.simulate.superflux import superflux_score

SEED = 7


def row(score: Score) -> str:
    """Return a score as F50, F10, median, 95th percentile and bias in ms."""
    return (
        f"{score.f:.3f} {score.within(0.01):.3f} {1000 * score.error_s(50):5.1f} "
        f"{1000 * score.error_s(95):5.1f} {1000 * score.bias_s:+5.1f} ({score.found}/{score.true})"
    )


def main(count: int, seed: int, only: str) -> None:
    """Print the table for ``count`` takes of every set whose name has ``only`` in it."""
    print(f"{'set':22s} F50   F10   median  p95  bias  found/true | superflux, offset removed")  # noqa: T201
    for name, (_, kind) in {**SETS, **HELD_OUT}.items():
        if only not in name:
            continue
        scenes = takes(name, count, seed=seed)
        begin = time.perf_counter()
        ours = scored(
            (s.onsets_s, [o.time_s for o in find_onsets(s.sound, s.rate, kind=kind)])
            for s in scenes
        )
        spent = time.perf_counter() - begin
        speed = sum(s.sound.size / s.rate for s in scenes) / spent
        print(f"{name:22s} {row(ours)} {speed:4.0f}x | {row(superflux_score(scenes))}", flush=True)  # noqa: T201


if __name__ == "__main__":
    arguments = sys.argv[1:]
    main(
        int(arguments[0]) if arguments else 20,
        int(arguments[1]) if len(arguments) > 1 else SEED,
        arguments[2] if len(arguments) > 2 else "",
    )
