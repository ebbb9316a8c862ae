"""``rhythmtrain show``: the rhythm with note values and counts, entries, and where it is hard."""

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import tell


@click.command()
@click.argument("passage")
@click.option("--bars", metavar="17-24", help="Only these bars, as printed.")
@click.option("--british", is_flag=True, help="Crotchet and quaver for quarter and eighth.")
@options.as_json
def show(passage: str, bars: str | None, *, british: bool, as_json: bool) -> None:
    """Show a PASSAGE: its rhythm with the counts under it, its entries, and where it is hard.

    PASSAGE is a drill file or the name of a supplied drill.

    \b
    Example:  rhythmtrain show offbeats --bars 1-4
    """
    from rhythmtrain.rehearsal.show import show_passage  # noqa: PLC0415

    tell(show_passage(passage, bars, british=british), as_json=as_json)
