"""A command that writes over nothing it was given to read.

``map piano.flac -o piano.flac`` is a slip of the hand, and a recording cannot be played again.  A
beat map that is mapped again may go where it was: that is what ``--again`` is for.
"""

import os
from collections.abc import Iterable, Iterator
from typing import Any

import click

from rhythmtrain.errors import RequestError

WRITTEN = ("output", "listen", "plot", "report")
MAY_BE_REPLACED = ("again",)


class Careful(click.Command):
    """A command that refuses to write over a file that is named to be read."""

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, unless one of its files would be lost by it.

        Raises:
            RequestError: a file is named to be read and to be written.
        """
        goals = [path for name in WRITTEN for path in _paths(ctx.params.get(name))]
        apart = (*WRITTEN, *MAY_BE_REPLACED)
        read = [value for name, value in ctx.params.items() if name not in apart]
        for given in _paths(read):
            if any(_same(goal, given) for goal in goals):
                raise RequestError(
                    f"{given} is to be read and would be lost: write to a file of another name"
                )
        return super().invoke(ctx)


def _paths(value: Any) -> Iterator[str]:
    """Yield every word and path in ``value``, however deep."""
    if isinstance(value, str | os.PathLike):
        yield os.fspath(value)
    elif isinstance(value, Iterable):
        for each in value:
            yield from _paths(each)


def _same(goal: str, given: str) -> bool:
    """Return whether both name one file that is there."""
    try:
        return os.path.samefile(goal, given)  # noqa: PTH121  (help needs no paths, and starts sooner without)
    except (OSError, ValueError):
        return False
