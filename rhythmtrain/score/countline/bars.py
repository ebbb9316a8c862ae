"""The bars of a count line as they are written, before a metre gives the counts their places.

The grammar, in the order it is read::

    passage = [ "|:" ] bar { divider bar } [ divider ]
    divider = "|" | "|:" | ":|" [ "x" number ] | ":|:" [ "x" number ]
    bar     = { mark } ( "rest" number | place { place } )
    mark    = "metre" metre | "tempo" number [ "to" number "over" number "bars" ]
            | "first time" | "second time" | "pause" | '"' words '"'
    place   = count [ ">" ] | "(" count { count } ")" | "[" count { count } "]"
    count   = beat | syllable | beat "+" number "/" number

A ``:|:`` with ``x3`` says how often the repeat that it closes is played.  A bar without counts is
refused, so ``| |``, ``||`` and a bar line before the first bar are; ``|:`` may stand there.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.marks import Marks, WordReader, read_marks
from rhythmtrain.score.countline.words import (
    DIVIDER,
    FRACTION,
    MARK_WORDS,
    NUMBER,
    QUOTE,
    SYLLABLE,
    Word,
)
from rhythmtrain.score.passage import Kind

MOST_REST_BARS = 999
MOST_TIMES = 99
BRACKETS = {"(": (")", Kind.SILENT), "[": ("]", Kind.HELD)}
# Divider: whether it closes a repeat, whether it opens one.
DIVIDERS = {"|": (False, False), "|:": (False, True), ":|": (True, False), ":|:": (True, True)}


@dataclass(frozen=True, slots=True)
class Count:
    """One count as written: its word, and whether it is played, silent or held."""

    word: Word
    kind: Kind
    accent: bool = False


@dataclass(frozen=True, slots=True)
class WrittenBar:
    """One bar as written; ``rest`` is the number of bars of rest it stands for, or 0.

    ``times`` is how often in all the repeat is played that this bar closes, or 0.
    """

    first: Word
    last: Word
    opens: bool
    marks: Marks
    rest: int = 0
    counts: tuple[Count, ...] = ()
    times: int = 0


def written_bars(words: list[Word]) -> Iterator[WrittenBar]:
    """Yield the bars of a count line one by one.

    Raises:
        DrillError: the words do not follow the grammar.
    """
    if not words:
        raise DrillError("the rhythm is empty: write at least one bar, like 1 2 or rest 1")
    reader = WordReader(words)
    opens = reader.take("|:") is not None
    while True:
        bar = _bar(reader, opens=opens)
        divider = reader.here
        closes, opens = _divider(reader)
        times = 2 if closes else 0
        if closes and reader.take("x"):
            times = reader.number("x (how often a repeat is played in all)", 2, MOST_TIMES)
        yield replace(bar, times=times)
        if reader.here is None:
            if opens and divider is not None:
                raise divider.error("a repeat is opened here and never closed: end it with :|")
            return


def _bar(reader: WordReader, *, opens: bool) -> WrittenBar:
    first = reader.here
    if first is None or first.kind == DIVIDER:
        raise (first or reader.words[-1]).error(
            "an empty bar: for silence write rest 1, for a note held through it [1]"
        )
    marks = read_marks(reader)
    if reader.take("rest"):
        bar = WrittenBar(first, first, opens, marks, rest=reader.number("rest", 1, MOST_REST_BARS))
        if reader.here is not None and reader.here.kind != DIVIDER:
            raise reader.here.error("rest stands alone in its bar: put a | after its number")
    else:
        bar = WrittenBar(first, first, opens, marks, counts=tuple(_places(reader)))
        if not bar.counts:
            raise first.error("the bar has no counts: for silence write rest 1")
    return replace(bar, last=reader.words[reader.at - 1])


def _divider(reader: WordReader) -> tuple[bool, bool]:
    here = reader.here
    if here is None:
        return False, False
    reader.at += 1
    if here.text not in DIVIDERS:
        raise here.error(f"{here.text[:20]!r} is no bar line: write |, |:, :| or :|:")
    return DIVIDERS[here.text]


def _places(reader: WordReader) -> Iterator[Count]:
    while (word := reader.here) is not None and word.kind != DIVIDER:
        reader.at += 1
        if word.text in BRACKETS and word.kind != QUOTE:
            yield from _bracket(reader, word)
        elif word.kind in (NUMBER, FRACTION, SYLLABLE):
            yield Count(word, Kind.PLAYED, accent=reader.take(">") is not None)
        else:
            raise word.error(_misplaced(word))


def _bracket(reader: WordReader, opened: Word) -> Iterator[Count]:
    closing, kind = BRACKETS[opened.text]
    empty = True
    while (word := reader.here) is not None and word.kind in (NUMBER, FRACTION, SYLLABLE):
        reader.at += 1
        empty = False
        yield Count(word, kind)
    if word is not None and word.text == ">":
        raise word.error("an accent > belongs to a played count, not inside brackets")
    if not reader.take(closing):
        raise opened.error(f"the bracket {opened.text} is not closed in its bar: write {closing}")
    if empty:
        raise opened.error(f"nothing stands between {opened.text} and {closing}")


def _misplaced(word: Word) -> str:
    if word.kind == QUOTE or word.text in MARK_WORDS:
        shown = f'"{word.text}"' if word.kind == QUOTE else word.text
        return f"{shown} stands at the start of a bar, before its counts"
    if word.text == "rest":
        return "rest stands alone in its bar: put a | before it"
    if word.text == ">":
        return "an accent > stands right after a played count, like 2>"
    if word.text in (")", "]"):
        return f"the bracket {word.text} is closed and was not opened"
    if word.text == "x":
        return "x and a number stand right after :| (x3: three times in all)"
    return f"{word.text!r} has no meaning here"
