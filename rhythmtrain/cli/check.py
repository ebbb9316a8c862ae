"""``rhythmtrain check``: a recorded take heard against the passage."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@click.argument("take", type=options.ANY_FILE)
@click.argument("passage")
@options.practice
@click.option(
    "--start",
    type=options.Number("seconds"),
    help="Second of the take at which bar 1 begins, when that is known.",
)
@click.option(
    "--timing",
    type=click.Choice(["click", "free"]),
    default="click",
    show_default=True,
    help="What you followed; with free the tempo may breathe.",
)
@click.option(
    "--as",
    "kind",
    type=click.Choice(options.KINDS),
    default="claps",
    show_default=True,
    help="What was played.",
)
@click.option(
    "--aloud", is_flag=True, help="You counted aloud while you clapped: the voice is left out."
)
@click.option("--report", type=options.ANY_FILE, metavar="FILE.html", help="Write a page to open.")
@click.option("--keep", is_flag=True, help="Keep the take in your history.")
@options.as_json
def check(take: "Path", passage: str, *, as_json: bool, **wishes: Any) -> None:
    """Hear a recorded TAKE against a PASSAGE: what came early, late, not at all, or in time.

    TAKE is audio (also a phone's), MIDI, or a text file with one time in seconds a line.

    \b
    Example:  rhythmtrain check take.m4a offbeats --speed 0.6 --report heard.html
    """
    from rhythmtrain.rehearsal.check import CheckWish, check_file  # noqa: PLC0415

    with progress_bar() as progress:
        told = check_file(take, CheckWish(passage=passage, **wishes), progress=progress)
    tell(told, as_json=as_json)
