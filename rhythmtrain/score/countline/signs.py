"""Repeat signs and endings, checked in the order in which they are written.

Repeats follow each other and never lie in one another.  Every ``|:`` is closed; a first time stands
once in a repeat and lasts to its ``:|``; right after that stands the second time.
"""

from dataclasses import dataclass

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.bars import WrittenBar
from rhythmtrain.score.countline.words import Word

FIRST_TIME, SECOND_TIME = 1, 2


@dataclass(slots=True)
class RepeatSigns:
    """What is open at the bar now read: a repeat, a first time, and where each began."""

    opened: tuple[Word, int] | None = None
    ending: tuple[Word, int] | None = None
    wants_second: tuple[Word, int] | None = None

    def check(self, written: WrittenBar, number: int) -> None:
        """Take in the signs before a bar.

        Raises:
            DrillError: they do not follow those before.
        """
        ending, first = written.marks.ending, written.first
        if written.opens and (self.opened is not None or self.ending is not None):
            raise first.error("a repeat is opened before the one before it is closed with :|")
        if ending == SECOND_TIME and self.wants_second is None:
            raise first.error("a second time stands right after the first time and its :|")
        if ending != SECOND_TIME and self.wants_second is not None:
            raise first.error("after the first time and its :| stands the second time")
        if ending == FIRST_TIME and self.ending is not None:
            raise first.error("the first time stands twice in one repeat")
        self.wants_second = None
        if ending == FIRST_TIME:
            self.ending = (first, number)
        if written.opens:
            self.opened = (first, number)

    def close(self) -> None:
        """Take in a ``:|``."""
        self.wants_second = self.ending
        self.opened = self.ending = None

    def finish(self) -> None:
        """Raise DrillError when something is still open at the end."""
        for still, message in (
            (self.opened, "this repeat is never closed: end it with :|"),
            (self.ending, "the first time is never closed: end it with :|"),
            (self.wants_second, "after this first time and its :| no second time follows"),
        ):
            if still is not None:
                word, number = still
                raise in_bar(word.error(message), number)


def in_bar(error: DrillError, number: int) -> DrillError:
    """Return ``error`` with the bar it is in, where it has a place and no bar yet."""
    bar = error.bar if error.bar is not None or error.line is None else number
    return DrillError(error.message, line=error.line, column=error.column, bar=bar)
