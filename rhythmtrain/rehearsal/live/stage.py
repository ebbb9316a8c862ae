"""What is drawn on while a take is played: a screen of lines, given by the edge."""

from collections.abc import Sequence
from types import TracebackType
from typing import Protocol, Self


class Stage(Protocol):
    """A screen that is there while it is entered."""

    @property
    def columns(self) -> int:
        """Return how wide it is now."""
        ...

    @property
    def rows(self) -> int:
        """Return how many lines it holds now."""
        ...

    def draw(self, lines: Sequence[str]) -> None:
        """Show ``lines`` in place of those before."""
        ...

    def say(self, line: str) -> None:
        """Say ``line`` beside the screen, to stay there."""
        ...

    def __enter__(self) -> Self:
        """Open the screen."""
        ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
        /,
    ) -> None:
        """Give back what was there before."""
        ...


class NoStage:
    """A screen where nobody looks."""

    columns, rows = 80, 24

    def draw(self, lines: Sequence[str]) -> None:
        """Show nothing."""

    def say(self, line: str) -> None:
        """Say nothing."""

    def __enter__(self) -> Self:
        """Open nothing."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close nothing."""
