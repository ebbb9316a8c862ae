"""``rhythmtrain pack``: what a teacher hands out, a ladder of tracks with one page for a phone."""

from typing import TYPE_CHECKING, Any

import click

from rhythmtrain.cli import options
from rhythmtrain.cli.telling import progress_bar, tell

if TYPE_CHECKING:
    from pathlib import Path


@click.command()
@click.argument("passages", nargs=-1, required=True, metavar="PASSAGE...")
@click.option(
    "--into", type=options.ANY_FILE, required=True, help="Folder to write into; made if missing."
)
@options.part
@click.option(
    "--slowest",
    type=options.Number("share of the written tempo"),
    default=0.5,
    show_default=True,
    help="Where the ladder begins, as a share of the written tempo.",
)
@click.option(
    "--rungs", type=int, help="Tempi in the ladder at most.  [default: 8; 3 with --entry]"
)
@click.option(
    "--format",
    "ending",
    type=click.Choice(["mp3", "ogg", "flac", "wav"]),
    default="mp3",
    show_default=True,
    help="Kind of sound file; every phone plays mp3.",
)
@click.option(
    "--layers",
    metavar="LAYERS",
    help="What sounds: tune, clap, click, count, cue, accompaniment.  [default: clap,click,count,cue]",
)
@click.option(
    "--accompaniment",
    type=options.ANY_FILE,
    metavar="RECORDING",
    help="The recorded accompaniment, where the drill names none or another.",
)
@click.option("--beats", type=options.ANY_FILE, metavar="FILE", help="Its beat map.")
@click.option(
    "--entry", is_flag=True, help="Practise one entry: tracks that lead in to it, with answers."
)
@click.option(
    "--entry-bar", type=int, metavar="BAR", help="Bar of that entry.  [default: longest rest]"
)
@click.option("--language", default="en", show_default=True, help="Spoken count: en de fr es nl.")
@click.option("--voice", type=options.ANY_FILE, metavar="DIR", help="Your own recorded words.")
@options.as_json
def pack(passages: tuple[str, ...], into: "Path", *, as_json: bool, **wishes: Any) -> None:
    """Make a pack of PASSAGEs to hand out: tracks from slow to written tempo, MIDI, one page.

    With --entry it is one entry that is practised: tracks that begin two, four or eight bars before
    it or at the top, with less and less help, each followed by its answer with the entry clapped.

    PASSAGE may also be a folder of drill files.  Open index.html on any phone or computer.

    \b
    Example:  rhythmtrain pack off-beats dotted-quarters --into handout
    Example:  rhythmtrain pack towpath-entry --entry --into handout
    Example:  rhythmtrain pack mine.toml --layers accompaniment,click,count --into handout
    """
    from rhythmtrain.rehearsal.packing.pack import make_pack  # noqa: PLC0415
    from rhythmtrain.rehearsal.packing.wish import PackWish  # noqa: PLC0415

    with progress_bar() as progress:
        told = make_pack(PackWish(passages=passages, **wishes), into, progress=progress)
    tell(told, as_json=as_json)
