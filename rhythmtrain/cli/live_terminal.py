"""The terminal as a screen: lines drawn where they changed, and everything given back at the end.

The terminal's second screen is used (``ESC [ ? 1049 h``), so that what was there before comes back;
only rows that changed are written again, in one breath, so nothing flickers.  It is drawn on
standard error: standard output holds the answer.  Where nobody looks nothing is drawn.
"""

import atexit
import os
import sys
from collections.abc import Sequence
from itertools import zip_longest
from typing import Self, TextIO

import click

OPEN, CLOSE = "\x1b[?1049h\x1b[?25l\x1b[2J", "\x1b[?25h\x1b[?1049l"
USUAL = (80, 24)


class LiveTerminal:
    """The screen on ``stream`` (standard error), drawn only where that is a terminal."""

    def __init__(self, stream: TextIO | None = None) -> None:
        """Take the stream; nothing is written before the screen is entered."""
        self._stream = sys.stderr if stream is None else stream
        self._seen = self._stream.isatty()
        self._open = False
        self._size = USUAL
        self._before: tuple[str, ...] = ()

    @property
    def columns(self) -> int:
        """Return how wide the terminal is now."""
        return self._measured()[0]

    @property
    def rows(self) -> int:
        """Return how many lines it holds now."""
        return self._measured()[1]

    def __enter__(self) -> Self:
        """Go over to the second screen."""
        if self._seen:
            self._open, self._before = True, ()
            self._size = self._measured()
            atexit.register(self.close)
            self._write(OPEN)
        return self

    def __exit__(self, *_: object) -> None:
        """Go back to the first screen, as it was."""
        self.close()

    def close(self) -> None:
        """Go back to the first screen; harmless when repeated."""
        if self._open:
            self._open = False
            atexit.unregister(self.close)
            self._write(CLOSE)

    def draw(self, lines: Sequence[str]) -> None:
        """Show ``lines`` from the top, writing only what changed."""
        if not self._open:
            return
        size = self._measured()
        wiped = size != self._size
        before: tuple[str, ...] = () if wiped else self._before
        self._size, self._before = size, tuple(lines)[: size[1]]
        changed = [
            f"\x1b[{row};1H{new}\x1b[K"
            for row, (new, old) in enumerate(
                zip_longest(self._before, before, fillvalue=""), start=1
            )
            if new != old
        ]
        if changed:
            self._write(("\x1b[2J" if wiped else "") + "".join(changed))

    def say(self, line: str) -> None:
        """Print ``line`` on the first screen."""
        from rhythmtrain.rehearsal.typed_words import as_typed  # noqa: PLC0415  (help starts sooner without)

        click.echo(as_typed(line), err=True)

    def _measured(self) -> tuple[int, int]:
        """Return columns and rows of the terminal."""
        if not self._seen:
            return USUAL
        try:
            columns, rows = os.get_terminal_size(self._stream.fileno())
        except OSError:
            return USUAL
        return columns or USUAL[0], rows or USUAL[1]

    def _write(self, text: str) -> None:
        self._stream.write(text)
        self._stream.flush()
