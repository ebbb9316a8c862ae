"""``rhythmtrain show``: the rhythm with note values and counts, entries, and where it is hard."""

from typing import Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.telling import tell


@click.command(cls=Careful)
@click.argument("passage")
@options.part
@click.option("--british", is_flag=True, help="Crotchet and quaver for quarter and eighth.")
@click.option(
    "--as",
    "form",
    type=click.Choice(["musicxml", "midi", "toml"]),
    help="Print it for another program instead, or write it with -o.",
)
@click.option(
    "-o",
    "--output",
    type=options.ANY_FILE,
    metavar="FILE",
    help="Where it goes: .musicxml .mid .toml",
)
@click.option(
    "--plot",
    type=options.ANY_FILE,
    metavar="FILE",
    help="Draw it too, hard bars marked: .svg .pdf .html .png",
)
@options.as_json
def show(passage: str, *, as_json: bool, **wishes: Any) -> None:
    """Show a PASSAGE: its rhythm with the counts under it, its entries, and where it is hard.

    PASSAGE is a drill file, the name of a supplied drill, or a score in MusicXML or MIDI.

    \b
    Example:  rhythmtrain show off-beats --bars 1-4
    Example:  rhythmtrain show off-beats -o off-beats.musicxml
    """
    from rhythmtrain.rehearsal.passages.show import ShowWish, show_passage  # noqa: PLC0415

    tell(show_passage(ShowWish(passage, **wishes)), as_json=as_json)
