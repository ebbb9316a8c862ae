"""The door: the group of commands, and the one place where an error becomes a line and a code.

Exit codes: 0 done, 1 could not be done, 2 wrong usage, 130 stopped by the player.
"""

import sys
from collections.abc import Sequence

import click

from rhythmtrain.cli.check import check
from rhythmtrain.cli.clap import clap
from rhythmtrain.cli.class_room import class_command
from rhythmtrain.cli.cue import cue
from rhythmtrain.cli.demo import demo
from rhythmtrain.cli.devices import devices
from rhythmtrain.cli.drills import drills
from rhythmtrain.cli.enter import enter
from rhythmtrain.cli.history import history
from rhythmtrain.cli.latency import latency
from rhythmtrain.cli.map import map_command
from rhythmtrain.cli.open import open_page
from rhythmtrain.cli.pack import pack
from rhythmtrain.cli.practise import practise
from rhythmtrain.cli.progress import progress
from rhythmtrain.cli.sheet import sheet
from rhythmtrain.cli.show import show
from rhythmtrain.cli.track import track
from rhythmtrain.cli.transcribe import transcribe
from rhythmtrain.errors import RequestError, RhythmtrainError

STOPPED = 130
ALSO = {"practice": "practise"}

HELP = """Practise the rhythm of a passage, and the entry after a rest.

\b
Try it at once:        rhythmtrain demo
See a rhythm:          rhythmtrain show off-beats
Make a slow track:     rhythmtrain track off-beats -o slow.flac --speed 0.6
Hear what was played:  rhythmtrain check take.m4a off-beats
Clap along with it:    rhythmtrain clap off-beats --speed 0.6

Start quiet, and keep the volume low with headphones.
"""


class Door(click.Group):
    """The commands, some under a second name as well."""

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return the command of that name, or of that other name."""
        return super().get_command(ctx, ALSO.get(cmd_name, cmd_name))


@click.group(cls=Door, help=HELP, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="rhythmtrain", message="rhythmtrain %(version)s")
def commands() -> None:
    """Hold the commands."""


for command in (
    demo,
    drills,
    show,
    track,
    pack,
    sheet,
    check,
    clap,
    enter,
    practise,
    cue,
    map_command,
    transcribe,
    progress,
    history,
    class_command,
    devices,
    latency,
    open_page,
):
    commands.add_command(command)


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line and leave with its exit code."""
    sys.exit(run(arguments))


def run(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return its exit code; every error is one line on stderr."""
    try:
        outcome = commands.main(arguments, prog_name="rhythmtrain", standalone_mode=False)
    except click.ClickException as error:
        return _say(_usage(error), error.exit_code)
    except RequestError as error:
        return _say(str(error), 2)
    except RhythmtrainError as error:
        return _say(str(error), 1)
    except (click.Abort, KeyboardInterrupt):
        return _say("stopped", STOPPED)
    except BrokenPipeError:
        sys.stdout = None
        return 1
    return int(outcome or 0)


def _usage(error: click.ClickException) -> str:
    message = error.format_message().rstrip(".").replace("\n", " ")
    context = getattr(error, "ctx", None)
    where = context.command_path if context is not None else "rhythmtrain"
    return f"{message} (see {where} --help)"


def _say(message: str, code: int) -> int:
    from rhythmtrain.rehearsal.typed_words import as_typed  # noqa: PLC0415  (help starts sooner without)

    click.echo(f"rhythmtrain: {' '.join(as_typed(message).split())}", err=True)
    return code
