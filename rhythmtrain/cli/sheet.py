"""``rhythmtrain sheet``: notation with the counts under the notes and rests."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.telling import tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command(cls=Careful)
@click.argument("passages", nargs=-1, required=True, metavar="PASSAGE...")
@click.option(
    "-o",
    "--output",
    type=options.ANY_FILE,
    required=True,
    metavar="FILE",
    help="Where to write: .svg .pdf .html .png",
)
@options.part
@click.option(
    "--staff",
    type=click.Choice(["one", "five"]),
    default="one",
    show_default=True,
    help="Lines of the staff; five shows the pitches of a tune.",
)
@click.option(
    "--counting",
    type=click.Choice(["numbers", "takadimi", "ta-titi"]),
    default="numbers",
    show_default=True,
    help="The syllables of the count.",
)
@click.option("--count-rests", is_flag=True, help="Write the count of long rests out.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"], case_sensitive=False),
    default="a4",
    show_default=True,
    help="What it is printed on.",
)
@click.option("--british", is_flag=True, help="Crotchet and quaver for quarter and eighth.")
@options.as_json
def sheet(passages: tuple[str, ...], output: "Path", *, as_json: bool, **wishes: Any) -> None:
    """Write PASSAGEs as notes with the counts under every note and rest, with room for a pencil.

    \b
    Example:  rhythmtrain sheet towpath-entry -o sheet.svg
    Example:  rhythmtrain sheet off-beats dotted-quarters --british -o week12.pdf
    """
    from rhythmtrain.rehearsal.passages.sheet import SheetWish, make_sheet  # noqa: PLC0415

    tell(make_sheet(SheetWish(passages=passages, **wishes), output), as_json=as_json)
