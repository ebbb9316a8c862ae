"""Options of the commands that listen while they play: what listens, and to what."""

import click

from rhythmtrain.cli.options import KINDS, adding

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


# The options that say what listens, without the kind of sound.
listened = adding(_LIVE[0], _LIVE[1], _LIVE[3])
# The options that say how a live take is played and heard.
heard_live = adding(*_LIVE)
