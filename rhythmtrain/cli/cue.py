"""``rhythmtrain cue``: what the accompanist plays before the entry."""

from typing import Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.telling import tell


@click.command(cls=Careful)
@click.argument("passage")
@click.option("--entry", type=int, metavar="BAR", help="The entry in this bar; else the first.")
@click.option(
    "--bars-before", type=int, default=2, show_default=True, help="How many bars are heard: 1 or 2."
)
@click.option(
    "--notes",
    type=options.ANY_FILE,
    metavar="FILE",
    help="The accompanist's notes: MusicXML, MIDI.",
)
@click.option(
    "--voice",
    type=click.Choice(["top", "lower", "all"]),
    default="top",
    show_default=True,
    help="Which line of those notes is listened to.",
)
@click.option(
    "-o", "--output", type=options.ANY_FILE, help="Sound to write: .wav .flac .ogg .mp3 or .mid."
)
@click.option(
    "--repeats", type=int, default=4, show_default=True, help="How often the sound comes round."
)
@click.option(
    "--accompaniment",
    type=options.ANY_FILE,
    metavar="RECORDING",
    help="The recorded accompaniment, where the drill names none or another.",
)
@click.option("--beats", type=options.ANY_FILE, metavar="FILE", help="Its beat map.")
@options.tempo
@click.option("--british", is_flag=True, help="Crotchet and quaver for quarter and eighth.")
@options.as_json
def cue(passage: str, *, as_json: bool, **wishes: Any) -> None:
    """Tell what the accompanist plays before an entry of a PASSAGE: words, notes and sound.

    \b
    Example:  rhythmtrain cue towpath-entry
    Example:  rhythmtrain cue towpath-entry -o cue.wav --speed 0.6
    Example:  rhythmtrain cue mine.toml --entry 9 --notes piano.musicxml --voice lower
    """
    from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue  # noqa: PLC0415

    tell(tell_cue(CueWish(passage, **wishes)), as_json=as_json)
