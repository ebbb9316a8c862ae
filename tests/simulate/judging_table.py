"""What judging with known times reaches: ``python -m tests.simulate.judging_table [takes]``.

Every row stands for the passages that thresholds were chosen on and, after each bar, for those
that were held out and those that were never seen before (see ``rhythms``).
"""

import sys
from collections.abc import Callable, Iterator
from functools import partial

from tests.simulate.judging_trials import (
    entries_trial,
    figures_trial,
    honest_trial,
    pairs_trial,
    refused,
    shift_trial,
    speed_trial,
    tries_trial,
)
from tests.simulate.rhythms import HALVES
from tests.simulate.sessions import MAKERS

AFTER = (4, 8, 16)
TAKEN = (("start given", 1.0, True), ("start found", 1.0, False), ("speed found", None, False))
REFUSED = (("right", 0.1), ("right", 0.2), ("other", 0.05), ("other", 0.2))
Row = tuple[str, Callable[[str, int], object]]


def rows() -> Iterator[Row]:
    """Yield every row: its name and its trial, to be called with half and count."""
    yield from _notes()
    yield from _takes()
    yield from _entries()


def _notes() -> Iterator[Row]:
    for share, notes in ((0.1, 64), (0.2, 64), (0.2, 32), (0.2, 16)):
        name = f"pairs, {notes} notes, {share:.0%} amiss: precision recall start"
        yield name, partial(pairs_trial, share=share, notes=notes)
    for name, speed, given in TAKEN:
        title = f"honest, {name}: plain, in time, missed, named"
        yield title, partial(honest_trial, speed=speed, given=given)
    yield "speed within 1 %", speed_trial
    yield "figures named", figures_trial


def _takes() -> Iterator[Row]:
    for notes in (32, 64):
        for kind, share in REFUSED:
            name = f"refused, {kind}, {notes} notes, {share:.0%} amiss"
            yield name, partial(refused, kind=kind, share=share, notes=notes)
    for kind in MAKERS:
        yield f"{kind}: tries apart, told, pairs right", partial(tries_trial, kind=kind)


def _entries() -> Iterator[Row]:
    for after in AFTER:
        name = f"entries, {after} notes from the entry on"
        yield name, partial(entries_trial, after=after, given=True)
    yield "entries, 12 notes, start found", partial(entries_trial, after=12, given=False)
    for beats in (-1.0, 1.0, 4.0):
        yield f"all {beats:+.0f} beats from a given start", partial(shift_trial, beats=beats)


def told(result: object) -> str:
    """Return the figures of a trial in a row."""
    if isinstance(result, dict):
        return " ".join(f"{name} {value:.2f}" for name, value in result.items())
    values = result if isinstance(result, tuple) else (result,)
    return " ".join(f"{value:.3f}" for value in values)


def main(count: int) -> None:
    """Print the table from ``count`` takes a cell."""
    for name, trial in rows():
        halves = " | ".join(told(trial(half, count)) for half in HALVES)
        print(f"{name:54s} {halves}", flush=True)  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
