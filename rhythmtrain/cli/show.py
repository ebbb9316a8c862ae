"""``rhythmtrain show``: the rhythm with note values and counts, entries, and where it is hard."""

from typing import Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import tell


@click.command()
@click.argument("passage")
@options.part
@click.option("--british", is_flag=True, help="Crotchet and quaver for quarter and eighth.")
@options.as_json
def show(passage: str, *, as_json: bool, **wishes: Any) -> None:
    """Show a PASSAGE: its rhythm with the counts under it, its entries, and where it is hard.

    PASSAGE is a drill file, the name of a supplied drill, or a score in MusicXML or MIDI.

    \b
    Example:  rhythmtrain show offbeats --bars 1-4
    """
    from rhythmtrain.rehearsal.show import ShowWish, show_passage  # noqa: PLC0415

    tell(show_passage(ShowWish(passage, **wishes)), as_json=as_json)
