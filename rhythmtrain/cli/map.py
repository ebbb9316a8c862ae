"""``rhythmtrain map``: which bar and beat of a recording falls at which second."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.careful import Careful
from rhythmtrain.cli.live_terminal import LiveTerminal
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command("map", cls=Careful)
@click.argument("recording", type=options.ANY_FILE)
@click.option(
    "--from", "start", metavar="1:32", help="Play and listen from here; nothing before is mapped."
)
@click.option("--bars", metavar="45-50", help="Only these bars, as printed.")
@click.option("--live", is_flag=True, help="Play the recording and take your taps on its beats.")
@click.option(
    "--taps",
    type=options.ANY_FILE,
    metavar="FILE",
    help="Beats tapped from the first bar on, one after the other: seconds of the recording, one "
    "a line, or MIDI. A few bars are enough with --end.",
)
@click.option("--end", metavar="SECONDS", help="First beat of the last bar.")
@click.option(
    "--at",
    multiple=True,
    metavar="BAR=SECONDS",
    help="Where a bar begins, such as 17=21.7 or 17=1:21.7 (17.2= for its second beat); repeat it.",
)
@click.option(
    "--again",
    type=options.ANY_FILE,
    metavar="FILE.beats",
    help="Take the taps and marks kept in this beat map too, and write it anew.",
)
@click.option(
    "--notes",
    type=options.ANY_FILE,
    metavar="FILE",
    help="The accompanist's notes, .musicxml .mxl or .mid: then nothing has to be tapped.",
)
@click.option("--part", metavar="NAME", help="Their part, by name or number.  [default: keyboards]")
@click.option(
    "--order",
    metavar="1-8,1-8,9-24",
    help="Bars of the notes as the recording plays them, or `written`.  [default: asked if unlike]",
)
@click.option("--bars-count", type=int, metavar="N", help="How many bars, from bar 1.")
@click.option("--metre", default="4/4", show_default=True, help="Such as 3/4, 6/8 or 3+2/8.")
@click.option("--beat", metavar="VALUE", help="What gets one count, such as eighth.")
@click.option(
    "--tempo",
    type=options.Number("beats a minute"),
    help="Rough beats a minute; needed only with a single mark.",
)
@click.option(
    "-o", "--output", type=options.ANY_FILE, metavar="FILE.beats", help="Write the beat map."
)
@click.option(
    "--listen",
    type=options.ANY_FILE,
    metavar="FILE",
    help="Write the recording with clicks on its beats: .wav .flac .ogg .mp3.",
)
@click.option(
    "--plot",
    type=options.ANY_FILE,
    metavar="FILE",
    help="Draw the wave, the beats and the doubt: .png .svg .pdf.",
)
@click.option(
    "--on",
    default="keys",
    show_default=True,
    metavar="keys|midi[:PORT]",
    help="What you tap on, with --live; `rhythmtrain devices` lists the ports.",
)
@click.option("--loudspeaker", metavar="DEVICE", help="Where --live plays the recording.")
@click.option(
    "--dry-run", is_flag=True, help="--live without devices: an invented tapper at --tempo."
)
@options.as_json
def map_command(recording: "Path", *, as_json: bool, **wishes: Any) -> None:
    """Find which bar and beat of a RECORDING falls at which second, with your help.

    First the few bars that matter: it plays the recording from --from on, you tap the beats of four
    to eight bars once, and what it writes is enough for `enter`, `cue` and `pack --entry`. For the
    whole piece, give the accompanist's notes, or tap the first two bars and say where the last one
    begins, or mark some bars. It says how sure it is and which bars to hear first; say where such a
    bar begins, and all is solved again from what was kept. Start quiet, keep the volume low with
    headphones, and rest.

    \b
    Example:  rhythmtrain map piano.flac --from 1:32 --bars 45-50 --live
    Example:  rhythmtrain map piano.flac --again piano.beats --at 47=1:36.2
    Example:  rhythmtrain map piano.flac --notes piano.mid -o piano.beats
    Example:  rhythmtrain map piano.flac --taps taps.txt --bars-count 48 --end 1:54.2 -o piano.beats
    Example:  rhythmtrain map piano.flac --at 1=2.41 --at 5=12.1 --at 9=21.7 --listen check.flac
    """
    from rhythmtrain.rehearsal.mapping.map import map_recording  # noqa: PLC0415
    from rhythmtrain.rehearsal.recorded.marks import MapWish  # noqa: PLC0415

    wish = MapWish(**wishes)
    stage = LiveTerminal() if wish.live and not wish.dry_run else None
    with progress_bar() as progress:
        told = map_recording(recording, wish, stage, progress=progress)
    tell(told, as_json=as_json)
