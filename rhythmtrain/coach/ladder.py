"""The ladder: tempi from slow to written, on the marks of the mechanical metronome.

The dial goes by 2 from 40 to 60, by 3 to 72, by 4 to 120, by 6 to 144 and by 8 to 208, so one
mark is a step of 3.4 to 5.6 %.  Below and above the dial the marks go on by whole numbers.  Small
steps up are teachers' custom, not shown to be best.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence

from rhythmtrain.errors import RequestError
from rhythmtrain.units import Bpm

DIAL: tuple[int, ...] = (
    *range(40, 60, 2), *range(60, 72, 3), *range(72, 120, 4), *range(120, 144, 6), *range(144, 209, 8),
)  # fmt: skip
MARKS: tuple[int, ...] = (*range(5, 40), *DIAL, *range(216, 321, 8), *range(336, 1001, 16))
MOST_RUNGS = 8
FELT = 1.02


def ladder(tempo: float, *, slowest: float = 0.5, rungs: int | None = None) -> tuple[Bpm, ...]:
    """Return tempi from about ``slowest`` times ``tempo`` up to ``tempo`` itself, on the marks.

    ``rungs`` is how many at most (default 8); marks are left out evenly to keep to it.

    Raises:
        RequestError: a share outside 0 to 1, or fewer than one rung.
    """
    if not 0 < slowest <= 1:
        raise RequestError(f"the slowest tempo must be a share of 0 to 1, got {slowest:g}")
    most = MOST_RUNGS if rungs is None else rungs
    if most < 1:
        raise RequestError(f"a ladder needs at least one tempo, got {most}")
    low = bisect_left(MARKS, slowest * tempo)
    high = bisect_left(MARKS, tempo)
    marks = MARKS[low:high]
    return (*(Bpm(float(mark)) for mark in _spread(marks, most - 1)), Bpm(float(tempo)))


def _spread(marks: tuple[int, ...], most: int) -> list[int]:
    """Return at most ``most`` of ``marks``, evenly, the lowest among them."""
    if len(marks) <= most:
        return list(marks)
    return [marks[place * len(marks) // most] for place in range(most)]


def next_mark(tempo: float) -> Bpm:
    """Return the first metronome mark that is plainly faster than ``tempo``, by 2 % or more.

    A player who kept to the mark 58 is found at 57.7 or 58.2: the next is 60, not 58.
    """
    index = bisect_right(MARKS, FELT * tempo)
    return Bpm(float(MARKS[min(index, len(MARKS) - 1)]))


def mark_near(tempo: float) -> int:
    """Return the metronome mark nearest to ``tempo`` by ratio, the lower one of two."""
    index = bisect_left(MARKS, tempo)
    near = MARKS[max(index - 1, 0) : index + 1]
    return min(near, key=lambda mark: max(mark / tempo, tempo / mark))


def row(tempi: Sequence[float]) -> str:
    """Return the ladder as one readable row: "40 46 52 58"."""
    return " ".join(f"{tempo:g}" for tempo in tempi)
