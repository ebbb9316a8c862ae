"""``rhythmtrain latency``: measure and keep the sound delay of this machine."""

from typing import Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.live_terminal import LiveTerminal
from rhythmtrain.cli.telling import tell


@click.command()
@click.option(
    "--from",
    "source",
    default="mic",
    show_default=True,
    metavar="keys|midi[:PORT]|mic[:DEVICE]",
    help="The microphone listens, or you tap to a click.",
)
@click.option("--loudspeaker", metavar="DEVICE", help="Where the track is played.")
@click.option("--dry-run", is_flag=True, help="No devices: measure the fakes, keep nothing.")
@options.as_json
def latency(*, as_json: bool, **wishes: Any) -> None:
    """Measure the sound delay of this machine, and keep it for the device.

    With the microphone a short track is played and listened to (no headphones, start quiet).  With
    keys or a MIDI pad you tap to a click: that also contains your own way of tapping.

    \b
    Example:  rhythmtrain latency --from keys
    """
    from rhythmtrain.rehearsal.live.latency import LatencyWish, measure_latency  # noqa: PLC0415

    wish = LatencyWish(**wishes)
    stage = None if wish.dry_run else LiveTerminal()
    tell(measure_latency(wish, stage), as_json=as_json, fits=True)
