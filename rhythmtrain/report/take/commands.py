"""What to type next: a track of what was amiss, slower; of all of it, faster; or a look at it."""

from collections.abc import Mapping

from rhythmtrain.coach.ladder import next_mark
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import UPBEAT
from rhythmtrain.units import Bpm

SLOWER = 0.8
SLOWEST = 0.3
NEEDS_QUOTES = set(" \t'&();$`*?!#<>|\\")


def again(
    heard: Heard,
    name: str,
    asked: str | None,
    bars: tuple[int, ...],
    *,
    live: str | None = None,
    part: str = "",
) -> str:
    """Return the command for a slower track of ``bars`` (none: of all that was asked for).

    ``part`` are the options that name a part of a score.  With ``live``, what a live take was heard from as options (" --from mic", "" for keys), it is
    the command to clap along with that track.
    """
    numbers = {bar.number for bar in heard.passage.bars}
    bars = (*bars, UPBEAT + 1) if bars == (UPBEAT,) and UPBEAT + 1 in numbers else bars
    some = bars and not numbers <= set(bars)
    which = "-".join(map(str, sorted({bars[0], bars[-1]}))) if some else asked
    speed = max(round(heard.findings.speed * SLOWER, 1), SLOWEST)
    made = _made(name, "again.flac", live) + part
    return f"{made}{_bars(which)} --speed {speed:g} --repeats 4{heard.sounding}"


def onward(
    heard: Heard, name: str, asked: str | None, *, live: str | None = None, part: str = ""
) -> str:
    """Return the command for a track at the next tempo; ``live`` and ``part`` as for ``again``."""
    tempo = next_tempo(heard)
    made = _made(name, "next.flac", live) + part
    return f"{made}{_bars(asked)} --tempo {tempo:g} --repeats 4 --fade{heard.sounding}"


def _made(name: str, output: str, live: str | None) -> str:
    if live is None:
        return f"rhythmtrain track {typed(name)} -o {output}"
    return f"rhythmtrain clap {typed(name)}{live}"


def look(name: str, asked: str | None, *, part: str = "") -> str:
    """Return the command that shows the passage."""
    return f"rhythmtrain show {typed(name)}{part}{_bars(asked)}"


def next_tempo(heard: Heard) -> Bpm:
    """Return the metronome mark above what was played, at most the written tempo, to a tenth.

    A recording's mean tempo is a number that nobody types: 72.0007.
    """
    mark = next_mark(heard.passage.tempo * heard.findings.speed)
    return Bpm(round(min(mark, heard.passage.tempo), 1))


def typed(name: str) -> str:
    """Return ``name`` as one types it in a shell."""
    return f'"{name}"' if set(name) & NEEDS_QUOTES else name


def as_options(wishes: Mapping[str, object]) -> str:
    """Return ``wishes`` as one types them, each after a blank; None, False and "" are not typed."""
    return "".join(
        f" --{name}" if value is True else f" --{name} {typed(str(value))}"
        for name, value in wishes.items()
        if value not in (None, "") and value is not False
    )


def go_on(name: str, options: str = "") -> str:
    """Return the command for a session with a passage."""
    return f"rhythmtrain practise {typed(name)}{options}"


def look_back(name: str) -> str:
    """Return the command that tells how a passage goes over the days."""
    return f"rhythmtrain progress {typed(name)}"


def _bars(which: str | None) -> str:
    return as_options({"bars": which})
