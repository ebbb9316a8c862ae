"""What judging beside a recording reaches: ``python -m tests.simulate.recorded_table [takes]``.

Every row stands for the passages that thresholds were chosen on and, after each bar, for those
that were held out and those that were never seen before (see ``rhythms``).
"""

import sys
from collections.abc import Iterator
from functools import partial

from tests.simulate.judging_table import Row, told
from tests.simulate.recorded_trials import (
    SPREADS,
    entries_beside,
    freely_beside,
    freely_entered,
    honest_beside,
)
from tests.simulate.rhythms import HALVES

FLOATED, ENTERED_FLOATING = 0.4, 0.3
STARTS = ((True, "start given"), (False, "start found"))


def rows() -> Iterator[Row]:
    """Yield every row: its name and its trial, to be called with half and count."""
    for manner in SPREADS:
        for given, start in STARTS:
            name = f"honest, {manner}, {start}: plain, in time, missed"
            yield name, partial(honest_beside, manner=manner, given=given)
        name = f"freely, {manner}: plain, in time, missed, named"
        yield name, partial(freely_beside, manner=manner, floats=FLOATED)
    for manner in SPREADS:
        for given, start in STARTS:
            name = f"entries, {manner}, {start}"
            yield name, partial(entries_beside, manner=manner, given=given)
        name = f"entries, freely, {manner}"
        yield name, partial(freely_entered, manner=manner, floats=ENTERED_FLOATING)


def main(count: int) -> None:
    """Print the table from ``count`` takes a cell."""
    for name, trial in rows():
        halves = "\n    ".join(f"{half:9s} {told(trial(half, count))}" for half in HALVES)
        print(f"{name}\n    {halves}", flush=True)  # noqa: T201


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
