"""``rhythmtrain transcribe``: a clapped rhythm written down as a drill."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command(cls=Careful)
@click.argument("take", type=options.ANY_FILE)
@click.option("--metre", metavar="2/4", help="The metre; bar by bar where it changes.")
@click.option(
    "--tempo",
    type=options.Number("beats a minute"),
    help="Beats a minute, about; found when not said.",
)
@click.option("--beat", metavar="VALUE", help='What gets a count, such as "eighth" or "group".')
@click.option(
    "--first",
    default="1",
    show_default=True,
    metavar="COUNT",
    help="The count of the first clap, such as 4&.",
)
@click.option("--times", type=int, metavar="N", help="How often the passage comes, straight on.")
@click.option("--title", help="What the drill is called.")
@click.option(
    "--as",
    "kind",
    type=click.Choice(options.KINDS),
    default="claps",
    show_default=True,
    help="What was played.",
)
@click.option(
    "--aloud/--silently",
    default=True,
    help="Whether somebody may talk or count in the take (as a rule: yes).",
)
@click.option(
    "-o", "--output", type=options.ANY_FILE, metavar="DRILL.toml", help="Where the drill goes."
)
@options.as_json
def transcribe(take: "Path", *, as_json: bool, **wishes: Any) -> None:
    """Write down the rhythm clapped, tapped or played in TAKE, as a drill.

    Clap it once, or several times with a pause of two bars or more between; how sure each bar is, is said.

    \b
    Example:  rhythmtrain transcribe claps.m4a --metre 2/4 --tempo 72 -o drill.toml
    """
    from rhythmtrain.rehearsal.checking.transcribe import (  # noqa: PLC0415
        TranscribeWish,
        transcribe_file,
    )

    with progress_bar() as progress:
        told = transcribe_file(take, TranscribeWish(**wishes), progress=progress)
    tell(told, as_json=as_json)
