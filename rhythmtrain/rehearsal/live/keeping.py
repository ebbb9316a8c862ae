"""Keeping what was played just now: at once, and without losing it where that cannot be done."""

from dataclasses import dataclass
from datetime import UTC, datetime

from rhythmtrain.errors import FileError
from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.checking.keeping import keep_checked, kept_in_words
from rhythmtrain.rehearsal.passages.passages import Wish
from rhythmtrain.report.take.instead_told import NOT_KEPT as SAID_NOT_KEPT


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of a take: its number in the history, and what is to be said beside it."""

    number: int | None = None
    warnings: tuple[str, ...] = ()

    @property
    def said(self) -> tuple[str, ...]:
        """Return the sentence that says so, if it was kept."""
        return () if self.number is None else (kept_in_words(self.number),)


NOT_KEPT = Kept()


def keep_live(checked: Checked, wish: Wish, *, helped: str | None = None) -> Kept:
    """Keep a take that was played just now; one of another passage is not kept.

    ``helped`` names what helped the player.  A history that cannot be written to is a warning:
    what was heard is told all the same.
    """
    if checked.findings.instead is not None:
        return Kept(None, (SAID_NOT_KEPT,))
    if checked.findings.looks_like is False:
        return NOT_KEPT
    now = datetime.now(UTC).astimezone()
    warnings: list[str] = []
    try:
        number = keep_checked(checked, wish, now=now, helped=helped, say=warnings.append)
    except FileError as error:
        return Kept(None, (*warnings, f"the take was not kept: {error}"))
    return Kept(number, tuple(warnings))
