"""How long a note was held against how long it is written, where its end was heard."""

from dataclasses import dataclass
from enum import StrEnum


class HeldAs(StrEnum):
    """How long a note was held against how long it is written."""

    AS_WRITTEN = "as written"
    CUT_SHORT = "cut short"
    HELD_ON = "held on"


@dataclass(frozen=True, slots=True)
class LengthFinding:
    """How long one note was held, where that was heard, in beats of its bar.

    ``before_rest`` is True where a rest follows, so that its end is heard by everybody.
    """

    bar: int
    count: str
    repeat: int
    written_beats: float
    held_beats: float
    before_rest: bool
    verdict: HeldAs
