"""``rhythmtrain enter``: practise an entry, help fading."""

from typing import Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.live_options import heard_live
from rhythmtrain.cli.live_terminal import LiveTerminal
from rhythmtrain.cli.telling import tell


@click.command()
@click.argument("passage")
@heard_live
@click.option("--entry", type=int, metavar="BAR", help="Bar of the entry.  [default: longest rest]")
@click.option("--tries", type=int, default=12, show_default=True, help="Tries at most.")
@click.option("--seed", type=int, help="Make the order of the lead-ins the same again.")
@click.option("--count-in", type=int, default=1, show_default=True, help="Bars counted first.")
@click.option(
    "--layers",
    help="What may sound: accompaniment, click, count, cue.  [default: the recording, if any]",
)
@options.recording
@options.tempo
@options.voice
@options.as_json
def enter(passage: str, *, as_json: bool, **wishes: Any) -> None:
    """Practise one entry of a PASSAGE: come in after the rest, try after try.

    Every try begins another number of bars before the entry, and one from the top.  At first the
    rests are counted aloud; help thins after every good try and returns after a bad one.  It ends
    when you came in three times running without help, or on Escape.  Start quiet, and rest.

    Where there is a recorded accompaniment it plays, at any speed, and you are heard against it.

    \b
    Example:  rhythmtrain enter towpath-entry --from mic --as wind
    Example:  rhythmtrain enter mine.toml --speed 0.7 --accompaniment piano.flac --beats piano.beats
    """
    from rhythmtrain.rehearsal.entering.enter import practise_entry  # noqa: PLC0415
    from rhythmtrain.rehearsal.entering.wish import EnterWish  # noqa: PLC0415

    wish = EnterWish(passage=passage, **wishes)
    stage = None if wish.dry_run else LiveTerminal()
    tell(practise_entry(wish, stage), as_json=as_json, fits=True)
