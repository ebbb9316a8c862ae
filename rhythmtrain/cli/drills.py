"""``rhythmtrain drills``: the supplied drills, in order of difficulty."""

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import tell


@click.command()
@options.as_json
def drills(*, as_json: bool) -> None:
    """List the supplied drills in order of difficulty, with what each one trains.

    \b
    Example:  rhythmtrain drills
    """
    from rhythmtrain.rehearsal.passages.drills import list_drills  # noqa: PLC0415

    tell(list_drills(), as_json=as_json)
