"""What every rehearsal gives back to the edge that asked for it, and how it reports progress."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rhythmtrain.remedies import all_worded
from rhythmtrain.report.narrower import narrower, relaid

# Called with (done, total, what) while something takes long; total is 0 where it is not known.
Progress = Callable[[float, float, str], None]


def quietly(_done: float, _total: float, _what: str) -> None:
    """Report progress to nobody."""


@dataclass(frozen=True, slots=True)
class Told:
    """The answer: ``text`` for people, ``document`` for programs, ``files`` that were written.

    ``warnings`` are said beside it.  ``failure`` is not empty where an answer was found but what
    was asked could not be done (a take of another piece): the command then leaves with code 1.
    What can be done stands in all of it until the edge words it.
    """

    text: str
    document: dict[str, Any]
    files: tuple[Path, ...] = ()
    warnings: tuple[str, ...] = ()
    failure: str = ""

    def worded(self, words: Callable[[str], str]) -> "Told":
        """Return the answer with what can be done said by ``words``, those of the edge."""
        return Told(
            relaid(self.text, words),
            all_worded(self.document, words),
            self.files,
            tuple(words(each) for each in self.warnings),
            words(self.failure),
        )

    def within(self, columns: int) -> str:
        """Return the text, if it is one of paragraphs and tables, for a window that wide."""
        return narrower(self.text, columns)
