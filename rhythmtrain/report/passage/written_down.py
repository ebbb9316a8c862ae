"""A rhythm that was written down, said to a person: the count line, and how sure each bar is."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from rhythmtrain.remedies import option, remedy
from rhythmtrain.report.lines import hanging
from rhythmtrain.report.words import milliseconds, several
from rhythmtrain.score.countline.writer import write_bars, write_places
from rhythmtrain.score.metre import value_name
from rhythmtrain.score.passage import Bar, Passage

HELD = (
    "How long a clap sounds cannot be heard: each note is held to the next or to the end of its bar, "
    "and a bar without claps is a bar of rest."
)


@dataclass(frozen=True, slots=True)
class BarTold:
    """How sure a bar is (0 to 1), whether to look at it, and (count, what else) of its figures."""

    bar: int
    chance: float
    doubtful: bool
    doubts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class WrittenDown:
    """What was written down: the passage, and what is told beside it.

    ``tempo`` is what was played; ``guessed`` is True where nobody said one.  ``again`` is after how
    many bars the whole passage comes again, if it does.
    """

    take: str
    claps: int
    passage: Passage
    bars: tuple[BarTold, ...]
    tempo: float
    guessed: bool
    spread_s: float
    tries: int
    left_out: tuple[int, ...]
    again: int | None


def written_text(written: WrittenDown, *, file: str | None = None) -> str:
    """Return the rhythm bar by bar with how sure each is, and what to do next."""
    lines = [hanging("", each, indent=0) for each in _opening(written)]
    lines += ["", *_bar_lines(written), ""]
    lines += [hanging("", each, indent=0) for each in _closing(written, file)]
    return "\n".join(lines)


def written_comments(written: WrittenDown) -> str:
    """Return what stands over the drill in its file: where it is from, and what is doubtful."""
    lines = [f"# Written down from {_plain(written.take)}."]
    for told in written.bars:
        if told.doubtful:
            doubts = "; ".join(_doubt(count, other) for count, other in told.doubts)
            lines.append(
                f"# Bar {told.bar}: {_percent(told.chance)} sure"
                + (f"; {doubts}." if doubts else ".")
            )
    return "\n".join(lines) + "\n"


def written_document(written: WrittenDown) -> dict[str, Any]:
    """Return what was written down for programs."""
    return {
        "take": written.take,
        "onsets": written.claps,
        "metre": str(written.passage.metre),
        "tempo": written.passage.tempo,
        "tempo_played": written.tempo,
        "tempo_guessed": written.guessed,
        "spread_ms": 1000 * written.spread_s,
        "tries": written.tries,
        "left_out": list(written.left_out),
        "rhythm": write_bars(written.passage.bars),
        "bars": [
            {
                "bar": told.bar,
                "rhythm": _rhythm(bar),
                "chance": told.chance,
                "doubtful": told.doubtful,
                "doubts": [{"count": count, "could_be": other} for count, other in told.doubts],
            }
            for told, bar in zip(written.bars, written.passage.bars, strict=True)
        ],
    }


def _opening(written: WrittenDown) -> Iterator[str]:
    metre = written.passage.metre
    beat = value_name(metre.tempo_value) or "beat"
    tries = f" in {written.tries} tries" if written.tries > 1 else ""
    yield (
        f"{written.take}: {several(written.claps, 'clap')}{tries}, written down in {metre}, played at "
        f"{beat} = {written.tempo:.0f}, give or take {milliseconds(written.spread_s)} a clap."
    )
    if written.guessed:
        yield (
            "Nobody said the tempo: twice as fast or half as fast would be written in other note "
            f"values. If it is wrong, say {option('tempo')}; no bar is surer than the tempo is."
        )
    others = "others have" if written.tries > 1 else "other has"
    for many in written.left_out:
        yield (
            f"A try with {several(many, 'clap')} is left out: the {others} "
            f"{written.claps // written.tries}."
        )
    if written.left_out and written.tries == 1:
        yield f"If all of it is one passage, with a rest between, {remedy('say-times', 1)}."


def _bar_lines(written: WrittenDown) -> Iterator[str]:
    rows = [_rhythm(bar) for bar in written.passage.bars]
    width = max(map(len, rows))
    for told, row in zip(written.bars, rows, strict=True):
        line = f"  bar {told.bar:>3}   {row:<{width}}   {_percent(told.chance):>5} sure"
        if told.doubtful:
            line += "  ?" + "".join(f"  {_doubt(count, other)}" for count, other in told.doubts)
        yield line


def _closing(written: WrittenDown, file: str | None) -> Iterator[str]:
    doubtful = [str(told.bar) for told in written.bars if told.doubtful]
    if doubtful:
        bars = "bar" if len(doubtful) == 1 else "bars"
        yield (
            f"Look at {bars} {', '.join(doubtful)} first (?). Clapping the passage again in the same "
            "take, after a pause of two bars, makes it surer."
        )
    else:
        yield "No figure is in doubt."
    if written.again is not None:
        yield (
            f"The same {written.again} bars come {len(written.bars) // written.again} times: if "
            f"those were tries, {remedy('say-times', len(written.bars) // written.again)}."
        )
    yield HELD
    if file is not None:
        yield f"Written to {file}{remedy('show-it', file)}."


def _rhythm(bar: Bar) -> str:
    return write_places(bar.places, bar.metre) if bar.places else "rest 1"


def _doubt(count: str, other: str) -> str:
    return f"on {count} it could be {other or 'nothing'}"


def _percent(chance: float) -> str:
    return f"{min(int(100 * chance), 99)} %"


def _plain(text: str) -> str:
    return "".join(letter for letter in text if letter.isprintable())
