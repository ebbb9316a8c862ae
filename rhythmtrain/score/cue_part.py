"""Whose line is the cue: "Piano", "Piano:lower", "2:all".

The ear follows the top of what the accompanist plays; who waits for the bass, or for both hands, says
so after the part's name.
"""

from dataclasses import dataclass
from enum import StrEnum


class CueLine(StrEnum):
    """Which line of a part is listened to."""

    TOP = "top"
    LOWER = "lower"
    ALL = "all"

    def of_chord(self, pitches: tuple[int, ...]) -> tuple[int, ...]:
        """Return the pitches of a chord, from below, that belong to the line."""
        return {CueLine.TOP: pitches[-1:], CueLine.LOWER: pitches[:1]}.get(self, pitches)


@dataclass(frozen=True, slots=True)
class CuePart:
    """A part by name or number, and the line of it that is the cue."""

    name: str
    line: CueLine = CueLine.TOP


def cue_part_of(text: str) -> CuePart:
    """Return what ``text`` means; what follows a colon and is no line belongs to the name."""
    name, colon, line = text.rpartition(":")
    asked = line.strip().lower()
    if colon and name.strip() and asked in set(CueLine):
        return CuePart(name.strip(), CueLine(asked))
    return CuePart(text)
