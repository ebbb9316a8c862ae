"""The words of a count line, each with its place in the text.

The smallest pieces: numbers, syllables, brackets, dividers, marks.  Blanks only part what would
otherwise run together, so ``1e&a`` and ``1 e & a`` are the same four words; a line break is
a blank; ``#`` hides the rest of its line.  Everything is plain ASCII in lower case, except what
stands between quotation marks, which is read aloud or printed and may hold any letter, and
comments.  Nothing here knows metres or bars.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import get_close_matches

from rhythmtrain.errors import DrillError

LARGEST_TEXT = 1_000_000
LONGEST_LANDMARK = 200
SYLLABLES = ("trip", "let", "la", "li", "ta", "e", "a")
MARK_WORDS = ("metre", "tempo", "first", "second", "pause")
KEYWORDS = (*MARK_WORDS, "rest", "to", "over", "bar", "bars", "time", "x")

NUMBER, FRACTION, METRE, SYLLABLE = "number", "fraction", "metre", "syllable"
KEYWORD, DIVIDER, SIGN, QUOTE = "keyword", "divider", "sign", "quote"

_METRE = re.compile(r"\d+(?:\+\d+)*/\d+", re.ASCII)
_RULES: tuple[tuple[str, "re.Pattern[str]"], ...] = (
    ("blank", re.compile(r"[ \t\r\n]+|#[^\n]*")),
    (QUOTE, re.compile(r'"[^"\n]*"')),
    (DIVIDER, re.compile(r"[|:]+")),
    (FRACTION, re.compile(r"\d+\+\d+/\d+", re.ASCII)),
    (NUMBER, re.compile(r"\d+(?:\.\d+)?", re.ASCII)),
    ("letters", re.compile(r"[a-z]+")),
    (SYLLABLE, re.compile(r"[&+]")),
    (SIGN, re.compile(r"[()\[\]>]")),
)
_SYLLABLES = re.compile("|".join(SYLLABLES))


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a count line; ``line`` and ``column`` count from 1."""

    kind: str
    text: str
    line: int
    column: int

    def error(self, message: str) -> DrillError:
        """Return an error about this word, to be raised."""
        return DrillError(message, line=self.line, column=self.column)


def words_of(text: str) -> list[Word]:
    """Return the words of ``text`` in order.

    Raises:
        DrillError: more than 1 MB, or something that no count line holds.
    """
    if len(text) > LARGEST_TEXT:
        raise DrillError("the rhythm is longer than 1 MB: split it into several drills")
    words: list[Word] = []
    at, line, begins = 0, 1, 0
    while at < len(text):
        kind, piece = _piece(text, at, after=words[-1] if words else None)
        here = Word(kind, piece, line, at - begins + 1)
        words += _finer(here)
        at += len(piece)
        if "\n" in piece:
            line += piece.count("\n")
            begins = at - len(piece) + piece.rindex("\n") + 1
    return words


def _piece(text: str, at: int, *, after: Word | None) -> tuple[str, str]:
    """Return the kind and the text of the longest piece that begins at ``at``."""
    if (
        after
        and (after.kind, after.text) == (KEYWORD, "metre")
        and (found := _METRE.match(text, at))
    ):
        return METRE, found[0]
    for kind, rule in _RULES:
        if found := rule.match(text, at):
            return kind, found[0]
    return "stray", text[at]


def _finer(word: Word) -> Iterator[Word]:
    """Yield what counts as words in a piece: blanks are none, glued syllables are several."""
    if word.kind == "blank":
        return
    if word.kind == "stray":
        raise word.error(_stray(word.text))
    if word.kind == QUOTE:
        yield Word(QUOTE, _landmark(word), word.line, word.column)
    elif word.kind != "letters":
        yield word
    elif word.text in KEYWORDS:
        yield Word(KEYWORD, word.text, word.line, word.column)
    else:
        yield from _syllables(word)


def _syllables(word: Word) -> Iterator[Word]:
    at = 0
    while at < len(word.text):
        found = _SYLLABLES.match(word.text, at)
        if found is None:
            near = get_close_matches(word.text[:40], (*KEYWORDS[:-1], *SYLLABLES), n=1)
            hint = f"did you mean {near[0]!r}?" if near else "words go between quotation marks"
            raise word.error(f"{_short(word.text)!r} is no word of a count line; {hint}")
        yield Word(SYLLABLE, found[0], word.line, word.column + at)
        at = found.end()


def _landmark(word: Word) -> str:
    said = " ".join(word.text[1:-1].split())
    if not said:
        raise word.error("nothing stands between the quotation marks")
    if len(said) > LONGEST_LANDMARK or not said.isprintable():
        raise word.error(
            f"words between quotation marks are plain text of at most {LONGEST_LANDMARK} letters"
        )
    return said


def _stray(letter: str) -> str:
    if letter == '"':
        return "a quotation mark is opened and not closed on its line"
    if letter.isascii() and letter.isupper():
        return f"{letter!r} is a capital letter: a count line is written in lower case"
    if not letter.isascii() or not letter.isprintable():
        return f"{letter!r} has no place in a count line: write it in plain ASCII characters"
    if letter == "/":
        return "'/' stands alone: a fraction of a beat is written without blanks, like 2+1/5"
    return f"{letter!r} has no meaning in a count line"


def _short(text: str) -> str:
    return text if len(text) <= 20 else f"{text[:17]}..."  # noqa: PLR2004
