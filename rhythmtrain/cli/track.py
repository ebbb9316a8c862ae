"""``rhythmtrain track``: one practice track, as sound or MIDI."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
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
@options.as_json
def track(passage: str, output: "Path", *, as_json: bool, **wishes: Any) -> None:
    """Make one practice track of a PASSAGE: count-in, click, spoken count, clapped rhythm.

    \b
    Example:  rhythmtrain track offbeats -o slow.flac --speed 0.6 --repeats 4 --fade
    """
    from rhythmtrain.rehearsal.track import TrackWish, make_track  # noqa: PLC0415

    with progress_bar() as progress:
        told = make_track(TrackWish(passage=passage, **wishes), output, progress=progress)
    tell(told, as_json=as_json)
