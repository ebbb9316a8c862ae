"""``rhythmtrain clap``: play the track and hear live claps."""

from typing import Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.live_options import heard_live
from rhythmtrain.cli.live_terminal import LiveTerminal
from rhythmtrain.cli.telling import tell


@click.command(cls=Careful)
@click.argument("passage")
@heard_live
@click.option("--loop", is_flag=True, help="Again and again, a counted bar between, until Escape.")
@click.option(
    "--aloud/--silently",
    default=None,
    help="You count aloud while you clap.  [default: aloud with the microphone]",
)
@click.option("--cue", is_flag=True, help="First the accompanist's rhythm, then your own.")
@click.option("--report", type=options.ANY_FILE, metavar="FILE.html", help="Write a page to open.")
@options.practice
@options.sounding
@options.recording
@click.option("--steady", is_flag=True, help="Make the recording's tempo even, for learning.")
@click.option(
    "--lead-in",
    type=int,
    default=2,
    show_default=True,
    help="Bars of the recording before the passage.",
)
@options.as_json
def clap(passage: str, *, as_json: bool, **wishes: Any) -> None:
    """Play the track of a PASSAGE, hear you clap along, and say what was heard.

    Clap on the space bar (any key will do), on a MIDI pad, or before the microphone.  Escape stops,
    and what you played is checked.  Start quiet, keep the volume low with headphones, and rest.

    \b
    Example:  rhythmtrain clap off-beats --speed 0.6 --repeats 4 --fade
    Example:  rhythmtrain clap mine.toml --layers accompaniment,click,count --speed 0.7
    """
    from rhythmtrain.rehearsal.clapping.clap import clap_along  # noqa: PLC0415
    from rhythmtrain.rehearsal.clapping.wish import ClapWish  # noqa: PLC0415

    wish = ClapWish(passage=passage, **wishes)
    stage = None if wish.dry_run else LiveTerminal()
    tell(clap_along(wish, stage), as_json=as_json, fits=True)
