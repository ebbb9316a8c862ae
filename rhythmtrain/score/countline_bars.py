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
from dataclasses import dataclass, field, replace

from rhythmtrain.errors import DrillError, RequestError
from rhythmtrain.score.countline_words import (
    DIVIDER,
    FRACTION,
    KEYWORD,
    MARK_WORDS,
    METRE,
    NUMBER,
    QUOTE,
    SYLLABLE,
    Word,
)
from rhythmtrain.score.passage import MOST_BARS, Kind, TempoMark
from rhythmtrain.units import Bpm, checked_tempo

MOST_REST_BARS = 999
MOST_TIMES = 99
LONGEST_NUMBER = 9
BRACKETS = {"(": (")", Kind.SILENT), "[": ("]", Kind.HELD)}
ENDINGS = {"first": 1, "second": 2}
# Divider: whether it closes a repeat, whether it opens one.
DIVIDERS = {"|": (False, False), "|:": (False, True), ":|": (True, False), ":|:": (True, True)}


@dataclass(frozen=True, slots=True)
class Count:
    """One count as written: its word, and whether it is played, silent or held."""

    word: Word
    kind: Kind
    accent: bool = False


@dataclass(frozen=True, slots=True)
class Marks:
    """What stands at the start of a bar; None or empty where nothing does."""

    metre: Word | None = None
    tempo: TempoMark | None = None
    ending: int = 0
    pause: bool = False
    landmarks: tuple[str, ...] = ()


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


@dataclass(slots=True)
class _Reader:
    """The words of a count line and how far they are read."""

    words: list[Word]
    at: int = field(default=0)

    @property
    def here(self) -> Word | None:
        return self.words[self.at] if self.at < len(self.words) else None

    def take(self, *texts: str) -> Word | None:
        """Return the next word and go on, if it is one of ``texts``."""
        here = self.here
        if here is None or here.text not in texts or here.kind == QUOTE:
            return None
        self.at += 1
        return here

    def number(self, what: str, lowest: int, highest: int) -> int:
        """Return the whole number that must stand next."""
        here = self.here
        if here is None or here.kind != NUMBER:
            raise self.words[self.at - 1].error(f"{what} wants a number, {lowest} to {highest}")
        self.at += 1
        number = int(here.text) if here.text.isdecimal() and len(here.text) <= LONGEST_NUMBER else 0
        if not lowest <= number <= highest:
            raise here.error(f"{what} goes from {lowest} to {highest}, got {here.text[:20]}")
        return number

    def tempo(self) -> Bpm:
        """Return the tempo that must stand next."""
        here = self.here
        if here is None or here.kind != NUMBER:
            raise self.words[self.at - 1].error("a tempo is a number of beats a minute: tempo 96")
        self.at += 1
        try:
            return checked_tempo(float(here.text))
        except RequestError as error:
            raise here.error(str(error)) from None


def written_bars(words: list[Word]) -> Iterator[WrittenBar]:
    """Yield the bars of a count line one by one.

    Raises:
        DrillError: the words do not follow the grammar.
    """
    if not words:
        raise DrillError("the rhythm is empty: write at least one bar, like 1 2 or rest 1")
    reader = _Reader(words)
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


def _bar(reader: _Reader, *, opens: bool) -> WrittenBar:
    first = reader.here
    if first is None or first.kind == DIVIDER:
        raise (first or reader.words[-1]).error(
            "an empty bar: for silence write rest 1, for a note held through it [1]"
        )
    marks = _marks(reader)
    if reader.take("rest"):
        bar = WrittenBar(first, first, opens, marks, rest=reader.number("rest", 1, MOST_REST_BARS))
        if reader.here is not None and reader.here.kind != DIVIDER:
            raise reader.here.error("rest stands alone in its bar: put a | after its number")
    else:
        bar = WrittenBar(first, first, opens, marks, counts=tuple(_places(reader)))
        if not bar.counts:
            raise first.error("the bar has no counts: for silence write rest 1")
    return replace(bar, last=reader.words[reader.at - 1])


def _divider(reader: _Reader) -> tuple[bool, bool]:
    here = reader.here
    if here is None:
        return False, False
    reader.at += 1
    if here.text not in DIVIDERS:
        raise here.error(f"{here.text[:20]!r} is no bar line: write |, |:, :| or :|:")
    return DIVIDERS[here.text]


def _marks(reader: _Reader) -> Marks:
    marks = Marks()
    while (word := reader.here) is not None:
        if word.kind == QUOTE:
            marks = replace(marks, landmarks=(*marks.landmarks, word.text))
            reader.at += 1
        elif word.kind == KEYWORD and word.text in MARK_WORDS:
            reader.at += 1
            marks = _marked(reader, marks, word)
        else:
            break
    return marks


def _marked(reader: _Reader, marks: Marks, word: Word) -> Marks:
    """Return ``marks`` with the one that ``word`` begins; none may stand twice."""
    standing = {
        "metre": marks.metre is not None,
        "tempo": marks.tempo is not None,
        "pause": marks.pause,
    }
    if standing.get(word.text, bool(marks.ending)):
        raise word.error(f"{word.text} is one mark too many: a bar takes one of its kind")
    if word.text == "metre":
        return replace(marks, metre=_metre(reader, word))
    if word.text == "tempo":
        return replace(marks, tempo=_tempo(reader))
    if word.text == "pause":
        return replace(marks, pause=True)
    return replace(marks, ending=_ending(reader, word))


def _ending(reader: _Reader, word: Word) -> int:
    if not reader.take("time"):
        raise word.error(f"write {word.text} time, in two words")
    return ENDINGS[word.text]


def _metre(reader: _Reader, word: Word) -> Word:
    here = reader.here
    if here is None or here.kind != METRE:
        raise word.error("after metre comes a metre, like metre 3/4 or metre 3+2/8")
    reader.at += 1
    return here


def _tempo(reader: _Reader) -> TempoMark:
    bpm = reader.tempo()
    if not reader.take("to"):
        return TempoMark(bpm)
    to = reader.tempo()
    if not reader.take("over"):
        raise reader.words[reader.at - 1].error(
            "say over how many bars: tempo 96 to 72 over 4 bars"
        )
    bars = reader.number("the number of bars of a gradual tempo", 1, MOST_BARS)
    if not reader.take("bars", "bar"):
        raise reader.words[reader.at - 1].error("after the number comes bars: over 4 bars")
    return TempoMark(bpm, to, bars)


def _places(reader: _Reader) -> Iterator[Count]:
    while (word := reader.here) is not None and word.kind != DIVIDER:
        reader.at += 1
        if word.text in BRACKETS and word.kind != QUOTE:
            yield from _bracket(reader, word)
        elif word.kind in (NUMBER, FRACTION, SYLLABLE):
            yield Count(word, Kind.PLAYED, accent=reader.take(">") is not None)
        else:
            raise word.error(_misplaced(word))


def _bracket(reader: _Reader, opened: Word) -> Iterator[Count]:
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
