"""A stage that keeps what is drawn on it."""

from collections.abc import Sequence
from typing import Self


class Watching:
    """A stage that keeps every screen."""

    def __init__(self, columns: int = 80, rows: int = 24) -> None:
        """Begin with none."""
        self.columns, self.rows = columns, rows
        self.screens: list[tuple[str, ...]] = []
        self.said: list[str] = []
        self.opened = self.closed = 0

    def draw(self, lines: Sequence[str]) -> None:
        """Keep the screen."""
        self.screens.append(tuple(lines))

    def say(self, line: str) -> None:
        """Keep the line."""
        self.said.append(line)

    def __enter__(self) -> Self:
        """Count it."""
        self.opened += 1
        return self

    def __exit__(self, *_: object) -> None:
        """Count it."""
        self.closed += 1
