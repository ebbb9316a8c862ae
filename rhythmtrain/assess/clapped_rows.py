"""What one may clap in place of the rhythm."""

from dataclasses import dataclass
from enum import StrEnum


class Row(StrEnum):
    """A row of claps that is easier to follow than the rhythm."""

    BEAT = "beat"
    SPLIT = "split beat"
    OTHER = "every other beat"
    CUE = "cue"


@dataclass(frozen=True, slots=True)
class Instead:
    """A take that is ``row`` and not the rhythm.

    ``speed`` is how much faster it was clapped than the timeline is laid out, ``spread_s`` the robust
    standard deviation of its claps around the row, in seconds.  ``bars`` are the numbers of those
    in which the rhythm is another than the row, in order.  Where it is not ``sure`` it is only likelier
    than the rhythm.
    """

    row: Row
    speed: float
    spread_s: float
    bars: tuple[int, ...]
    sure: bool = True
