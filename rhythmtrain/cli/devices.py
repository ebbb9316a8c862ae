"""``rhythmtrain devices``: what can be used here, and why what cannot."""

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import tell


@click.command()
@click.option("--dry-run", is_flag=True, help="List the fakes that need no hardware.")
@options.as_json
def devices(*, dry_run: bool, as_json: bool) -> None:
    """List loudspeakers, microphones, MIDI inputs and keys, with the reason for what is missing.

    \b
    Example:  rhythmtrain devices
    """
    from rhythmtrain.rehearsal.live.devices import list_devices  # noqa: PLC0415

    tell(list_devices(dry_run=dry_run), as_json=as_json, fits=True)
