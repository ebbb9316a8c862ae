"""A command that writes over nothing it may be given to read.

``map piano.flac -o piano.flac`` is a slip of the hand, and a recording cannot be played again.  A
beat map that is mapped again may go where it was: that is what ``--again`` is for.
"""

import os
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import Any

import click

from rhythmtrain.errors import RequestError

# Options that name a file to write.
WRITTEN = ("output", "listen", "plot", "report")
# What a command reads and may write anew, by the option that says where.
MAY_BE_REPLACED = {"again": "output"}
# What names a passage, or several, or a folder of them.
PASSAGES = ("passage", "passages")
# What names a folder of recorded words.
VOICE = "voice"


class Careful(click.Command):
    """A command that refuses to write over a file that is to be read, or one file over another.

    A drill's own files are spared like those that were typed (``rehearsal.passages.sparing``).
    """

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command, unless one of its files would be lost by it.

        Raises:
            RequestError: a file is named to be read and to be written, or to be written twice.
        """
        goals = {name: path for name in WRITTEN if (path := ctx.params.get(name)) is not None}
        for (one, path), (other, same) in combinations(goals.items(), 2):
            if os.path.realpath(path) == os.path.realpath(same):
                raise RequestError(f"{path} is named for --{one} and for --{other}: give two names")
        if any(os.path.lexists(path) for path in goals.values()):
            _spare(ctx.params, goals)
        return super().invoke(ctx)


def _spare(given: Mapping[str, Any], goals: Mapping[str, Any]) -> None:
    """Refuse ``goals``, by the options that name them, where one of them would be lost."""
    from rhythmtrain.rehearsal.passages.sparing import check_spared  # noqa: PLC0415

    read: dict[str, Any] = {
        name: value
        for name, value in given.items()
        if isinstance(value, os.PathLike) and name not in WRITTEN
    }
    named = tuple(name for key in PASSAGES for name in _names(given.get(key)))
    for option, goal in goals.items():
        spared = {*read} - {
            VOICE,
            *(name for name, into in MAY_BE_REPLACED.items() if into == option),
        }
        typed = [read[name] for name in spared]
        check_spared([goal], read=typed, passages=named, voice=read.get(VOICE))


def _names(value: Any) -> Iterator[str]:
    """Yield one name or several."""
    if isinstance(value, str):
        yield value
    else:
        yield from value or ()
