"""Options that several commands share, each written once."""

from collections.abc import Callable
from typing import Any

import click

Decorated = Callable[..., Any]


class AnyFile(click.types.UnprocessedParamType):
    """A path, whether or not anything is there: the rehearsal says what is wrong with it."""

    name = "path"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return ``value`` as a ``pathlib.Path``."""
        from pathlib import Path  # noqa: PLC0415  (help needs no paths, and starts sooner without)

        return Path(str(super().convert(value, param, ctx)))


ANY_FILE = AnyFile()


class Number(click.types.FloatParamType):
    """A number, with a sentence that says what kind of number is wanted."""

    name = "number"

    def __init__(self, wanted: str) -> None:
        """Keep what is wanted, such as "beats a minute"."""
        self.wanted = wanted

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Return ``value`` as a float, or fail with the sentence."""
        try:
            return float(value)
        except (TypeError, ValueError):
            what = param.name if param is not None else "value"
            self.fail(f"{what} must be a number of {self.wanted}, got {value!r}", param, ctx)


def adding(*options: Callable[[Decorated], Decorated]) -> Callable[[Decorated], Decorated]:
    """Return one decorator that adds ``options`` to a command, in this order in its help."""

    def decorated(command: Decorated) -> Decorated:
        for option in reversed(options):
            command = option(command)
        return command

    return decorated


as_json = click.option("--json", "as_json", is_flag=True, help="Print one JSON document.")

_PART = (
    click.option("--bars", metavar="17-24", help="Only these bars, as printed."),
    click.option("--part", metavar="NAME|NUMBER", help="Which part of a score is yours."),
    click.option(
        "--cue-part",
        metavar="NAME|NUMBER",
        help="Whose top line is your cue in the rests; Piano:lower is its bass, Piano:all both hands.",
    ),
)
_TEMPO = (
    click.option(
        "--speed",
        type=Number("times the written tempo, such as 0.6"),
        help="Share of the written tempo, such as 0.6.",
    ),
    click.option("--tempo", type=Number("beats a minute"), help="Beats a minute instead."),
    *_PART,
)
_PRACTICE = (
    *_TEMPO,
    click.option(
        "--repeats", type=int, default=1, show_default=True, help="How often the passage comes."
    ),
    click.option(
        "--echo",
        type=int,
        default=0,
        metavar="BARS",
        help="Bars heard, then as many left empty for your answer.",
    ),
)


# The options that say which bars, of which part of a score.
part = adding(*_PART)

# The options that say which bars, of which part of a score, and how fast.
tempo = adding(*_TEMPO)

# The options that tracks and checking share.
practice = adding(*_PRACTICE)

_VOICE = (
    click.option(
        "--language", default="en", show_default=True, help="Spoken count: en de fr es nl."
    ),
    click.option("--voice", type=ANY_FILE, metavar="DIR", help="Your own recorded words."),
)


# The options that say in which words one counts.
voice = adding(*_VOICE)

_SOUNDING = (
    click.option(
        "--count-in", type=int, default=1, show_default=True, help="Bars before the passage."
    ),
    click.option("--quick", is_flag=True, help="Count in as one, two, one-two-three-four."),
    click.option(
        "--layers",
        default="clap,click,count",
        show_default=True,
        help="What sounds: tune, clap, click, count, cue, accompaniment.",
    ),
    click.option("--fade", is_flag=True, help="Help thins from one repeat to the next."),
    click.option(
        "--say",
        type=click.Choice(["beats", "played", "all"]),
        default="played",
        show_default=True,
        help="Which counts are spoken.",
    ),
    click.option("--subdivide", type=int, metavar="N", help="Clicks to a beat."),
    click.option(
        "--counting",
        type=click.Choice(["numbers", "takadimi", "ta-titi"]),
        default="numbers",
        show_default=True,
        help="The syllables of the count.",
    ),
    click.option("--landmarks", is_flag=True, help="Say rehearsal letters before they come."),
    *_VOICE,
)


# The options that say what a track lets one hear.
sounding = adding(*_SOUNDING)

_RECORDING = (
    click.option(
        "--accompaniment",
        type=ANY_FILE,
        metavar="RECORDING",
        help="The recorded accompaniment, where the drill names none or another.",
    ),
    click.option("--beats", type=ANY_FILE, metavar="FILE", help="Its beat map."),
)


# The options that name a recorded accompaniment and its beat map.
recording = adding(*_RECORDING)

KINDS = ("claps", "voice", "wind", "brass", "strings", "plucked")
