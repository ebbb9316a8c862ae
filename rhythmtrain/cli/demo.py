"""``rhythmtrain demo``: the whole job on the supplied demo, with no hardware."""

from typing import TYPE_CHECKING

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@click.option(
    "--into",
    type=options.ANY_FILE,
    default="rhythmtrain-demo",
    show_default=True,
    help="Folder to write into; made if it is not there.",
)
@options.as_json
def demo(into: "Path", *, as_json: bool) -> None:
    """Do the whole job once on the supplied demo: tracks, two takes heard, a report to open.

    \b
    Example:  rhythmtrain demo --into demo
    """
    from rhythmtrain.rehearsal.demo import run_demo  # noqa: PLC0415

    with progress_bar() as progress:
        told = run_demo(into, progress=progress)
    tell(told, as_json=as_json)
