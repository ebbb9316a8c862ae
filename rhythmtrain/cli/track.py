"""``rhythmtrain track``: one practice track, as sound or MIDI."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command(cls=Careful)
@click.argument("passage")
@click.option(
    "-o",
    "--output",
    type=options.ANY_FILE,
    required=True,
    help="File to write: .wav .flac .ogg .mp3 or .mid.",
)
@options.practice
@options.sounding
@click.option(
    "--accompaniment",
    type=options.ANY_FILE,
    metavar="RECORDING",
    help="The recorded accompaniment, where the drill names none or another.",
)
@click.option("--beats", type=options.ANY_FILE, metavar="FILE", help="Its beat map.")
@click.option("--steady", is_flag=True, help="Make the recording's tempo even, for learning.")
@click.option(
    "--lead-in",
    type=int,
    default=2,
    show_default=True,
    help="Bars of the recording before the passage.",
)
@options.as_json
def track(passage: str, output: "Path", *, as_json: bool, **wishes: Any) -> None:
    """Make one practice track of a PASSAGE: count-in, click, spoken count, clapped rhythm.

    \b
    Example:  rhythmtrain track off-beats -o slow.flac --speed 0.6 --repeats 4 --fade
    Example:  rhythmtrain track mine.toml -o with.flac --layers accompaniment,click,count --speed 0.7
    """
    from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track  # noqa: PLC0415

    with progress_bar() as progress:
        told = make_track(TrackWish(passage=passage, **wishes), output, progress=progress)
    tell(told, as_json=as_json)
