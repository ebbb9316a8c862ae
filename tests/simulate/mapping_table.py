"""How well beats of a recorded piano are mapped: ``python -m tests.simulate.mapping_table``.

After it one may write how many pieces, the first seed, and a word of the rows wanted, such as
``60 9000 four``.  Every row is a way of helping; figures are for performances that nothing was
chosen on (held-out seeds, the second instrument), expressive solo playing first, then a steady
accompanist: median and 95th percentile of the error in ms, share of beats with the right number
within 70 ms, F by mir_eval, share of wrong beats found among the least sure fifth; then the share of
bars that a person is told to hear first, and the share of wrong beats in them.  The last lines give
the seconds of one processor that mapping five minutes takes, and the memory.
"""

import resource
import sys
import time
from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from tests.simulate.mapping_trials import (
    WAYS,
    Beats,
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


def main(pieces: int = PIECES, first: int = HELD_OUT, wanted: str = "") -> None:
    """Print the rows that hold ``wanted`` for performances of either manner, from seed ``first``."""
    head = ("median", "p95", "right", "F", "found", "named", "hold")
    print(" " * 34 + "".join(f"{word:>7}" for word in head))  # noqa: T201
    for manner, expressive in MANNERS.items():
        trials = [
            trial(perform(seed, expressive=expressive), seed)
            for seed in range(first, first + pieces)
        ]
        seeds = range(first, first + pieces)
        print(manner)  # noqa: T201
        for name, way in _rows(trials, seeds, expressive=expressive).items():
            if wanted in name:
                _print(name, joined(way()))
    _speed()


def _rows(
    trials: Sequence[Trial], seeds: range, *, expressive: bool
) -> dict[str, Callable[[], list[Outcome]]]:
    """Return every row's name and what gives its outcomes."""
    by_notes = partial(_with_notes, seeds, expressive=expressive)
    return {
        "taps as they are": lambda: [_raw(each) for each in trials],
        **{name: partial(_by_marks, trials, way) for name, way in WAYS.items()},
        "notes known": by_notes,
        "notes, noise and applause": partial(by_notes, **ENDS),
    }


def _raw(each: Trial) -> Outcome:
    errors = each.taps_s - each.performed.beats_s
    return Outcome(errors, np.ones(errors.size), float("nan"), np.zeros(errors.size, bool))


def _by_marks(trials: Sequence[Trial], way: Callable[[Trial], Beats]) -> list[Outcome]:
    return [outcome(way(each), each.performed.beats_s, each.bar) for each in trials]


def _with_notes(seeds: range, *, expressive: bool, **ends: float) -> list[Outcome]:
    played = (perform(seed, expressive=expressive, **ends) for seed in seeds)  # type: ignore[arg-type]
    return [outcome(*notes_known(each), each.piece.beats) for each in played]


def _print(name: str, result: Outcome) -> None:
    shares = (result.f_measure, result.found, result.share_named, result.hold)
    figures = f"{result.median_ms:7.1f}{result.p95_ms:7.0f}{result.right:7.3f}"
    print(f"  {name:32}{figures}" + "".join(f"{each:7.2f}" for each in shares), flush=True)  # noqa: T201


def _speed() -> None:
    long = perform(HELD_OUT + 1, expressive=True, bars=140)
    begun = time.process_time()
    curves = curves_of(long)
    listened = time.process_time()
    each = Trial(long, curves, long.beats_s, np.random.default_rng(0))
    WAYS["two bars tapped, and the end"](each)
    solved = time.process_time()
    notes_known(long)
    aligned = time.process_time()
    share = 300 / curves.duration_s
    print(  # noqa: T201
        f"five minutes: {share * (listened - begun):.1f} s to listen, "
        f"{share * (solved - listened):.1f} s to solve, "
        f"{share * (aligned - solved):.1f} s to listen and lay notes on it"
    )
    peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
    print(f"largest memory of this process, simulation included: {peak_mb:.0f} MB")  # noqa: T201


if __name__ == "__main__":
    pieces, first, wanted = (*sys.argv[1:], *("", "", "")[len(sys.argv) - 1 :])
    main(int(pieces or PIECES), int(first or HELD_OUT), wanted)
