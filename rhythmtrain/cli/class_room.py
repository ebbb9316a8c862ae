"""``rhythmtrain class``: a teacher's folder of recordings, heard and laid out."""

from typing import TYPE_CHECKING, Any

import click
from click.core import ParameterSource

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command("class")
@click.argument("folder", type=options.ANY_FILE)
@click.argument("passage", required=False)
@click.option(
    "--into", type=options.ANY_FILE, metavar="DIR", help="Write the class's page and one a student."
)
@options.practice
@click.option("--start", type=options.Number("seconds"), help="Second at which bar 1 begins.")
@click.option(
    "--timing",
    type=click.Choice(["click", "recording", "free"]),
    default="click",
    show_default=True,
    help="What they followed.",
)
@options.recording
@click.option(
    "--as",
    "kind",
    type=click.Choice(options.KINDS),
    default="claps",
    show_default=True,
    help="What they played.",
)
@click.option("--aloud", is_flag=True, help="They counted aloud while they clapped.")
@options.as_json
@click.pass_context
def class_command(
    context: click.Context,
    /,
    folder: "Path",
    passage: str | None,
    into: "Path | None",
    *,
    as_json: bool,
    **wishes: Any,
) -> None:
    """Hear a FOLDER of recordings that students sent: one folder or one file for each.

    Any recording or phone clip will do, and several for a student; it is the best that is told of.
    Without PASSAGE it is the one that class.toml in the folder names, or the one drill in it;
    class.toml may hold these options too (speed = 0.6). Names stay in the folders you made.

    \b
    Example:  rhythmtrain class tuesday towpath-rag --speed 0.6 --into tuesday/heard
    """
    from rhythmtrain.rehearsal.classes.room import hear_class  # noqa: PLC0415

    given = {
        name: value
        for name, value in wishes.items()
        if context.get_parameter_source(name) is not ParameterSource.DEFAULT
    }
    with progress_bar() as progress:
        told = hear_class(folder, passage, into=into, typed=given, progress=progress)
    tell(told, as_json=as_json)
