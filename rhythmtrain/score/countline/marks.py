"""What stands at the start of a bar: metre, tempo, endings, pause, words; and how words are taken.

``WordReader`` goes along the words of a count line.  Each mark stands once in a bar, in any order;
words between quotation marks may stand several times.
"""

from dataclasses import dataclass, field, replace

from rhythmtrain.errors import RequestError
from rhythmtrain.score.countline.words import KEYWORD, MARK_WORDS, METRE, NUMBER, QUOTE, Word
from rhythmtrain.score.passage import MOST_BARS, TempoMark
from rhythmtrain.units import Bpm, checked_tempo

LONGEST_NUMBER = 9
MOST_LANDMARKS = 20
ENDINGS = {"first": 1, "second": 2}


@dataclass(frozen=True, slots=True)
class Marks:
    """What stands at the start of a bar; None or empty where nothing does."""

    metre: Word | None = None
    tempo: TempoMark | None = None
    ending: int = 0
    pause: bool = False
    landmarks: tuple[str, ...] = ()


@dataclass(slots=True)
class WordReader:
    """The words of a count line and how far they are read."""

    words: list[Word]
    at: int = field(default=0)

    @property
    def here(self) -> Word | None:
        """Return the next word, or None at the end."""
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


def read_marks(reader: WordReader) -> Marks:
    """Return the marks at the start of a bar; the reader goes on to its first count.

    Raises:
        DrillError: a mark that is not complete, or stands twice.
    """
    marks = Marks()
    while (word := reader.here) is not None:
        if word.kind == QUOTE:
            if len(marks.landmarks) == MOST_LANDMARKS:
                raise word.error(f"a bar takes at most {MOST_LANDMARKS} words in quotation marks")
            marks = replace(marks, landmarks=(*marks.landmarks, word.text))
            reader.at += 1
        elif word.kind == KEYWORD and word.text in MARK_WORDS:
            reader.at += 1
            marks = _marked(reader, marks, word)
        else:
            break
    return marks


def _marked(reader: WordReader, marks: Marks, word: Word) -> Marks:
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


def _ending(reader: WordReader, word: Word) -> int:
    if not reader.take("time"):
        raise word.error(f"write {word.text} time, in two words")
    return ENDINGS[word.text]


def _metre(reader: WordReader, word: Word) -> Word:
    here = reader.here
    if here is None or here.kind != METRE:
        raise word.error("after metre comes a metre, like metre 3/4 or metre 3+2/8")
    reader.at += 1
    return here


def _tempo(reader: WordReader) -> TempoMark:
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
