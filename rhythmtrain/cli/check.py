"""``rhythmtrain check``: a recorded take heard against the passage."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command(cls=Careful)
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
    type=click.Choice(["click", "recording", "free"]),
    default="click",
    show_default=True,
    help="What you followed: a click, the recorded accompaniment (which needs its beat map), or "
    "nothing, so that the tempo may breathe.",
)
@click.option(
    "--accompaniment",
    type=options.ANY_FILE,
    metavar="RECORDING",
    help="The recording you played with, where the drill names none.",
)
@click.option("--beats", type=options.ANY_FILE, metavar="FILE", help="Its beat map.")
@click.option(
    "--freely",
    is_flag=True,
    help="With a recording: only entries, the first notes of phrases and the last note are held "
    "against it (or the bars that the drill names under meet); between them the tempo may float.",
)
@click.option(
    "--lead-in",
    type=int,
    default=2,
    show_default=True,
    help="With a recording and --repeats: its bars before each repeat, as in `track`.",
)
@click.option(
    "--notes",
    type=options.ANY_FILE,
    metavar="FILE",
    help="The accompanist's notes (MusicXML, MIDI): they tell whether you came in after the wrong "
    "cue.",
)
@click.option("--meet", metavar="1,5,9", help="The same, with the bars in which you meet it.")
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
    Example:  rhythmtrain check take.m4a off-beats --speed 0.6 --report heard.html
    Example:  rhythmtrain check take.m4a towpath.toml --timing recording --start 2.5
    """
    from rhythmtrain.rehearsal.checking.check import CheckWish, check_file  # noqa: PLC0415

    with progress_bar() as progress:
        told = check_file(take, CheckWish(passage=passage, **wishes), progress=progress)
    tell(told, as_json=as_json)
