"""``rhythmtrain practise``: one session, step by step."""

from typing import Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.live_options import listened
from rhythmtrain.cli.live_terminal import LiveTerminal
from rhythmtrain.cli.telling import tell


@click.command()
@click.argument("passage", required=False)
@click.option("--instrument", metavar="NAME", help="What you play: clarinet, violin, horn, piano …")
@click.option("--clap-only", is_flag=True, help="Clap all of it, the ladder of tempi too.")
@click.option(
    "--minutes",
    type=options.Number("minutes, such as 10"),
    default=10.0,
    show_default=True,
    help="How long at most.",
)
@click.option(
    "--order",
    metavar="gradual|alternating|mix",
    help="Of the tempi; none has been shown to be best.  [default: gradual]",
)
@listened
@options.part
@options.voice
@click.option(
    "--numbers", is_flag=True, help="Print the numbers it goes by and what supports each."
)
@options.as_json
def practise(passage: str | None, *, numbers: bool, as_json: bool, **wishes: Any) -> None:
    """Practise a PASSAGE in one session, each step chosen from what was played.

    Listen; echo; count aloud and clap; clap without hearing it; sing it; play it on one note; play
    it as written, all slowly; then up to its tempo.  An entry: the accompanist's line, the rest, and
    coming in.  What fails is done alone and slower, then again in its place.  Every take is kept,
    and the next session goes on from there.  Start quiet, and rest.

    \b
    Example:  rhythmtrain practise towpath-rag --clap-only
    Example:  rhythmtrain practise towpath-entry --instrument clarinet --from mic --minutes 15
    """
    from rhythmtrain.rehearsal.practising.practise import practise as lead  # noqa: PLC0415
    from rhythmtrain.rehearsal.practising.settings import told_numbers  # noqa: PLC0415
    from rhythmtrain.rehearsal.practising.wish import PractiseWish  # noqa: PLC0415

    if numbers:
        tell(told_numbers(), as_json=as_json)
        return
    if passage is None:
        raise click.UsageError("Missing argument 'PASSAGE'.")
    wish = PractiseWish(passage=passage, **wishes)
    stage = None if wish.dry_run else LiveTerminal()
    tell(lead(wish, stage), as_json=as_json)
