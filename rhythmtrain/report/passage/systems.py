"""The bars of a passage drawn line by line, several on a line where they fit.

A line (a *system*, as on paper) has three rows: bar numbers with what is marked there, note
values, counts.  Bars that follow each other in silence are one line of words, never drawn.
"""

from collections.abc import Iterator
from textwrap import wrap

from rhythmtrain.report.passage.bar_columns import columns_of
from rhythmtrain.report.passage.cells import INDENT, Cell, cells_of, packed
from rhythmtrain.score.metre import Metre, value_name
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import Bar, Kind, Passage

ENDINGS = {1: "first time", 2: "second time"}
HARD = " *"
TWICE = 2


def systems(
    passage: Passage, hard: frozenset[int], *, british: bool = False, width: int = 80
) -> Iterator[str]:
    """Yield blocks of text, each at most ``width`` columns; ``hard`` are numbers of hard bars."""
    room = width - len(INDENT) - 1
    waiting: list[Cell] = []
    for piece in _pieces(passage, hard, room, british=british):
        if isinstance(piece, Cell):
            waiting.append(piece)
            continue
        yield from packed(waiting, room)
        waiting = []
        lines = wrap(piece, width, initial_indent=INDENT, subsequent_indent=INDENT * 2)
        yield "\n".join(lines)
    yield from packed(waiting, room)


def _pieces(
    passage: Passage, hard: frozenset[int], room: int, *, british: bool
) -> Iterator[Cell | str]:
    """Yield the cells of drawn bars, and words for rests of several bars and for long marks."""
    bars = every_beat_named(passage.bars)
    marks = [
        _marks(bar, before, british=british)
        for before, bar in zip((None, *bars), bars, strict=False)
    ]
    index = 0
    while index < len(bars):
        bar = bars[index]
        past = _past_rest(bars, marks, index)
        if past - index > 1:
            yield _rest(bars[index:past], marks[index])
            index = past
            continue
        shown = [*marks[index], *_played(bar)]
        header = "  ".join([_number(bar, hard), *shown])
        if len(header) > room // 2:
            yield f"{_name(bar)}: {', '.join(shown)}"
            header = _number(bar, hard)
        after = bars[index + 1].places if index + 1 < len(bars) else ()
        tied_on = bool(after) and after[0].kind is Kind.HELD
        yield from cells_of(bar, header, columns_of(bar, tied_on=tied_on, british=british), room)
        index += 1


def _past_rest(bars: tuple[Bar, ...], marks: list[list[str]], index: int) -> int:
    """Return the index after the silent bars that begin at ``index`` and have nothing marked."""
    past = index
    while past < len(bars) and _silent(bars[past]):
        if past > index and (marks[past] or bars[past].opens):
            break
        past += 1
        if bars[past - 1].times:
            break
    return past


def _silent(bar: Bar) -> bool:
    whole = bar.length == bar.metre.length
    return whole and all(place.kind is Kind.SILENT for place in bar.places)


def _rest(bars: tuple[Bar, ...], marks: list[str]) -> str:
    words = f"bars {bars[0].number}-{bars[-1].number}: rest, {len(bars)} bars"
    begins = ["a repeat begins"] if bars[0].opens else []
    ends = ["the repeat ends"] if bars[-1].times else []
    return ", ".join([words, *begins, *ends, *_played(bars[-1]), *marks])


def _played(bar: Bar) -> list[str]:
    """Return how often the repeat is played that ends with ``bar``, where that is not twice."""
    return [f"played {bar.times} times"] if bar.times > TWICE else []


def _number(bar: Bar, hard: frozenset[int]) -> str:
    return _name(bar) + HARD if bar.number in hard else _name(bar)


def _name(bar: Bar) -> str:
    return f"bar {bar.number}" if bar.number else "upbeat"


def _marks(bar: Bar, before: Bar | None, *, british: bool) -> list[str]:
    """Return what is marked at the beginning of the bar, in words."""
    marks = [f'"{words}"' for words in bar.landmarks]
    if bar.ending:
        marks.append(ENDINGS[bar.ending])
    if bar.pause:
        marks.append("after a pause")
    if before is not None and bar.metre != before.metre:
        marks.append(str(bar.metre))
    if bar.tempo is not None:
        words = tempo_words(bar.metre, bar.tempo.bpm, british=british)
        if bar.tempo.to is not None:
            over = f"{bar.tempo.over_bars} bar{'s' * (bar.tempo.over_bars != 1)}"
            words += f" to {bar.tempo.to:.4g} over {over}"
        marks.append(words)
    return marks


def tempo_words(metre: Metre, bpm: float, *, british: bool = False) -> str:
    """Return a tempo as it stands over the music: "quarter = 72"."""
    value = value_name(metre.tempo_value, british=british) or "beat"
    return f"{value} = {bpm:.4g}"
