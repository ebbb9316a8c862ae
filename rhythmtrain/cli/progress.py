"""``rhythmtrain progress``: how it goes over the days, and what to do today."""

from typing import Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.telling import tell


@click.command(cls=Careful)
@click.argument("passage", required=False)
@click.option(
    "--plot", type=options.ANY_FILE, metavar="FILE", help="Draw every bar over the days: .png .svg."
)
@click.option("--report", type=options.ANY_FILE, metavar="FILE.html", help="Write a page to open.")
@options.as_json
def progress(passage: str | None, *, as_json: bool, **wishes: Any) -> None:
    """Tell how it goes over the days, and what to do today: of one PASSAGE, or of all.

    \b
    Example:  rhythmtrain progress
    Example:  rhythmtrain progress towpath-rag --report progress.html
    """
    from rhythmtrain.rehearsal.days.progress import ProgressWish, tell_progress  # noqa: PLC0415

    tell(tell_progress(ProgressWish(passage, **wishes)), as_json=as_json)
