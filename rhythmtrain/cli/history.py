"""``rhythmtrain history``: the takes that were kept."""

from typing import TYPE_CHECKING

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.group(invoke_without_command=True)
@click.option("--passage", metavar="PASSAGE", help="Only takes of this passage.")
@click.option("--since", metavar="2026-03-01", help="Only takes from this day on.")
@click.option("--limit", type=int, default=30, show_default=True, help="How many are listed.")
@options.as_json
@click.pass_context
def history(
    context: click.Context, *, passage: str | None, since: str | None, limit: int, as_json: bool
) -> None:
    """List the takes that were kept, the newest first; with a word after it, do more with them.

    \b
    Example:  rhythmtrain history --passage off-beats
    Example:  rhythmtrain history show 12
    Example:  rhythmtrain history again --all
    Example:  rhythmtrain history export takes.jsonl
    """
    if context.invoked_subcommand is not None:
        return
    from rhythmtrain.rehearsal.days.history import list_takes  # noqa: PLC0415

    tell(list_takes(passage, since=since, limit=limit), as_json=as_json)


@history.command()
@click.argument("number", type=int)
@options.as_json
def show(number: int, *, as_json: bool) -> None:
    """Show take NUMBER again, as it was told when it was heard.

    \b
    Example:  rhythmtrain history show 12
    """
    from rhythmtrain.rehearsal.days.history import show_take  # noqa: PLC0415

    tell(show_take(number), as_json=as_json)


@history.command()
@click.argument("number", type=int, required=False)
@click.option("--all", "every", is_flag=True, help="Every take.")
@options.as_json
def again(number: int | None, *, every: bool, as_json: bool) -> None:
    """Judge take NUMBER, or --all, by today's rules, keep that, and say what changed.

    \b
    Example:  rhythmtrain history again 12
    """
    from rhythmtrain.rehearsal.days.history import judge_again  # noqa: PLC0415

    with progress_bar() as progress:
        told = judge_again(number, every=every, progress=progress)
    tell(told, as_json=as_json)


@history.command()
@click.argument("number", type=int)
@click.option("--yes", is_flag=True, help="Do not ask.")
@options.as_json
def delete(number: int, *, yes: bool, as_json: bool) -> None:
    """Delete take NUMBER, for good; asks first.

    \b
    Example:  rhythmtrain history delete 12
    """
    from rhythmtrain.rehearsal.days.history import about_take, delete_take  # noqa: PLC0415

    if not yes:
        click.confirm(f"Delete {about_take(number)}?", abort=True, err=True)
    tell(delete_take(number), as_json=as_json)


@history.command()
@click.argument("file", type=options.ANY_FILE)
@options.as_json
def export(file: "Path", *, as_json: bool) -> None:
    """Write every take to FILE, one line of JSON each, for keeping elsewhere.

    \b
    Example:  rhythmtrain history export takes.jsonl
    """
    from rhythmtrain.rehearsal.days.files import export_takes  # noqa: PLC0415

    tell(export_takes(file), as_json=as_json)


@history.command("import")
@click.argument("file", type=options.ANY_FILE)
@options.as_json
def import_command(file: "Path", *, as_json: bool) -> None:
    """Take in the takes in FILE that `history export` wrote; those that are there stay.

    \b
    Example:  rhythmtrain history import takes.jsonl
    """
    from rhythmtrain.rehearsal.days.files import import_takes  # noqa: PLC0415

    tell(import_takes(file), as_json=as_json)
