"""Options of the commands that listen while they play: what listens, and to what."""

import click

from rhythmtrain.cli.options import KINDS, Decorated

_LIVE = (
    click.option(
        "--from",
        "source",
        default="keys",
        show_default=True,
        metavar="keys|midi[:PORT]|mic[:DEVICE]",
        help="What you play on; `rhythmtrain devices` lists ports and devices.",
    ),
    click.option("--loudspeaker", metavar="DEVICE", help="Where the track is played."),
    click.option(
        "--as",
        "kind",
        type=click.Choice(KINDS),
        default="claps",
        show_default=True,
        help="What the microphone listens for.",
    ),
    click.option(
        "--dry-run", is_flag=True, help="No devices: an invented player, heard in a moment."
    ),
)


def listened(command: Decorated) -> Decorated:
    """Add the options that say what listens, without the kind of sound."""
    for option in (_LIVE[3], _LIVE[1], _LIVE[0]):
        command = option(command)
    return command


def heard_live(command: Decorated) -> Decorated:
    """Add the options that say how a live take is played and heard."""
    for option in reversed(_LIVE):
        command = option(command)
    return command
