"""How well beats of a recorded piano are mapped: ``python -m tests.simulate.mapping_table [pieces]``.

Every row is a way of helping; figures are for performances that nothing was chosen on (held-out
seeds, the second instrument), expressive solo playing first, then a steady accompanist: median
and 95th percentile of the error in ms, share of beats with the right number within 70 ms, F by
mir_eval, share of wrong beats found among the least sure fifth.  The last lines give the seconds
it takes to map five minutes and the memory.
"""

import resource
import sys
import time

import numpy as np

from tests.simulate.mapping_trials import (
    WAYS,
    Outcome,
    Trial,
    curves_of,
    joined,
    notes_known,
    outcome,
    trial,
)
from tests.simulate.performances import HELD_OUT, perform

PIECES = 12
MANNERS = {"expressive": True, "steady": False}
ENDS = {"before_s": 5.0, "applause_s": 12.0, "noise_db": -45.0}


def main(pieces: int) -> None:
    """Print the table for ``pieces`` held-out performances of either manner."""
    print(f"{'':34}{'median':>8}{'p95':>7}{'right':>7}{'F':>6}{'found':>7}")  # noqa: T201
    for manner, expressive in MANNERS.items():
        trials = [
            trial(perform(seed, expressive=expressive), seed)
            for seed in range(HELD_OUT, HELD_OUT + pieces)
        ]
        print(manner)  # noqa: T201
        _row("taps as they are", joined([_raw(each) for each in trials]))
        for name, way in WAYS.items():
            solved = [outcome(way(each), each.performed.beats_s) for each in trials]
            _row(name, joined(solved))
        _row("notes known", _with_notes(pieces, expressive=expressive))
        _row("notes, noise and applause", _with_notes(pieces, expressive=expressive, **ENDS))
    _speed()


def _raw(each: Trial) -> Outcome:
    errors = each.taps_s - each.performed.beats_s
    return Outcome(errors, np.ones(errors.size), float("nan"))


def _with_notes(pieces: int, *, expressive: bool, **ends: float) -> Outcome:
    done = [
        outcome(*notes_known(perform(seed, expressive=expressive, **ends)))  # type: ignore[arg-type]
        for seed in range(HELD_OUT, HELD_OUT + pieces)
    ]
    return joined(done)


def _row(name: str, result: Outcome) -> None:
    figures = f"{result.median_ms:8.1f}{result.p95_ms:7.0f}{result.right:7.3f}"
    print(f"  {name:32}{figures}{result.f_measure:6.2f}{result.found:7.2f}", flush=True)  # noqa: T201


def _speed() -> None:
    long = perform(HELD_OUT + 1, expressive=True, bars=140)
    begun = time.perf_counter()
    curves = curves_of(long)
    listened = time.perf_counter()
    each = Trial(long, curves, long.beats_s, np.random.default_rng(0))
    WAYS["two bars tapped, and the end"](each)
    solved = time.perf_counter()
    notes_known(long)
    aligned = time.perf_counter()
    share = 300 / curves.duration_s
    print(  # noqa: T201
        f"five minutes: {share * (listened - begun):.1f} s to listen, "
        f"{share * (solved - listened):.1f} s to solve, "
        f"{share * (aligned - solved):.1f} s to listen and lay notes on it"
    )
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(f"largest memory of this process, simulation included: {peak_mb:.0f} MB")  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else PIECES)
