"""``rhythmtrain map``: which bar and beat of a recording falls at which second."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command("map")
@click.argument("recording", type=options.ANY_FILE)
@click.option(
    "--taps",
    type=options.ANY_FILE,
    metavar="FILE",
    help="Beats tapped from the first bar on, one after the other: seconds of the recording, one "
    "a line, or MIDI. A few bars are enough with --end.",
)
@click.option(
    "--at",
    multiple=True,
    metavar="BAR=SECONDS",
    help="Where a bar begins, such as 17=21.7 or 17=1:21.7 (17.2= for its second beat); repeat it.",
)
@click.option("--bars", metavar="45-50", help="Only these bars, as printed.")
@click.option("--bars-count", type=int, metavar="N", help="How many bars, from bar 1.")
@click.option(
    "--from", "start", metavar="1:32", help="Listen from here on; bars before are not looked for."
)
@click.option("--end", metavar="SECONDS", help="First beat of the last bar.")
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
@options.as_json
def map_command(recording: "Path", *, as_json: bool, **wishes: Any) -> None:
    """Find which bar and beat of a RECORDING falls at which second, with your help.

    The least help that works: tap the beats of the first two bars and say where the last one
    begins; or tap the few bars that you need. It says how sure it is and which bars to hear first;
    say where such a bar begins and map again.

    \b
    Example:  rhythmtrain map piano.flac --taps taps.txt --bars-count 48 --end 1:54.2 -o piano.beats
    Example:  rhythmtrain map piano.flac --bars 45-50 --from 1:32 --taps taps.txt -o entry.beats
    Example:  rhythmtrain map piano.flac --at 1=2.41 --at 5=12.1 --at 9=21.7 --listen check.flac
    """
    from rhythmtrain.rehearsal.map import map_recording  # noqa: PLC0415
    from rhythmtrain.rehearsal.map_marks import MapWish  # noqa: PLC0415

    with progress_bar() as progress:
        told = map_recording(recording, MapWish(**wishes), progress=progress)
    tell(told, as_json=as_json)
