"""How much of the count is spoken."""

from enum import StrEnum


class Say(StrEnum):
    """Which counts are said: the beats; also the counts that are played; every counted place."""

    BEATS = "beats"
    PLAYED = "played"
    ALL = "all"


ORDER = (Say.BEATS, Say.PLAYED, Say.ALL)


def at_most(wanted: Say, limit: Say) -> Say:
    """Return ``wanted``, or ``limit`` where that says less."""
    return min(wanted, limit, key=ORDER.index)
