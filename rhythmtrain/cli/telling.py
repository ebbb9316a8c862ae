"""Printing what a rehearsal gave back: text or JSON on stdout, progress and warnings on stderr."""

import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from rhythmtrain.rehearsal.told import Progress, Told

PATIENCE_S = 1.0


def tell(told: "Told", *, as_json: bool, fits: bool = False) -> None:
    """Print the answer: one JSON document and nothing else with ``as_json``, else the text.

    With ``fits`` a text of paragraphs and tables is broken anew for a narrow terminal.
    Leaves with exit code 1, and one line on stderr, where the answer is that it could not be done.
    """
    from rhythmtrain.rehearsal.typed_words import as_typed  # noqa: PLC0415  (help starts sooner without)

    told = told.worded(as_typed)
    for warning in told.warnings:
        click.echo(_noted(f"rhythmtrain: note: {warning}"), err=True)
    if as_json:
        import json  # noqa: PLC0415  (help needs no JSON, and starts sooner without)

        click.echo(json.dumps(told.document, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        narrow = fits and sys.stdout.isatty()
        click.echo(told.within(shutil.get_terminal_size().columns) if narrow else told.text)
    if told.failure:
        click.echo(f"rhythmtrain: {told.failure}", err=True)
        raise click.exceptions.Exit(1)


def _noted(words: str) -> str:
    """Return ``words`` broken between words, where a person reads them in a terminal."""
    if not sys.stderr.isatty():
        return words
    return click.wrap_text(words, shutil.get_terminal_size().columns, subsequent_indent="  ")


@contextmanager
def progress_bar() -> Iterator["Progress"]:
    """Give a progress report that draws a bar on a terminal once something takes over a second."""
    bar = _Bar()
    try:
        yield bar.report
    finally:
        bar.close()


class _Bar:
    """A bar that appears only when it is needed, and never where nobody looks."""

    def __init__(self) -> None:
        self._begun = time.monotonic()
        self._rich: object = None
        self._task: object = None

    def report(self, done: float, total: float, what: str) -> None:
        if not sys.stderr.isatty():
            return
        if self._rich is None:
            if time.monotonic() - self._begun < PATIENCE_S:
                return
            self._open()
        from rich.progress import Progress as Rich  # noqa: PLC0415  (drawn only when needed)

        if isinstance(self._rich, Rich):
            self._rich.update(
                self._rich.task_ids[0], completed=done, total=total or None, description=what
            )

    def _open(self) -> None:
        from rich.console import Console  # noqa: PLC0415
        from rich.progress import BarColumn, TaskProgressColumn, TextColumn  # noqa: PLC0415
        from rich.progress import Progress as Rich  # noqa: PLC0415

        columns = (TextColumn("{task.description}"), BarColumn(), TaskProgressColumn())
        rich = Rich(*columns, console=Console(stderr=True), transient=True)
        rich.add_task("")
        rich.start()
        self._rich = rich

    def close(self) -> None:
        if self._rich is not None:
            self._rich.stop()  # type: ignore[attr-defined]
