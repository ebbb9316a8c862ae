"""An answer whose lines are broken anew: for a window narrower than it was laid out for, or for words.

What can be done stands in it until an edge words it, and takes more room then, or less.  Paragraphs
and tables hang where they hung before.  A line that was broken is put together first: the
next one belongs to it where it stands just as far in and its first word had no room.  A command
stays in one piece, so that it can be copied.
"""

import re
from collections.abc import Callable, Iterator
from textwrap import wrap

from rhythmtrain.remedies import holds_remedies
from rhythmtrain.report.lines import WIDTH

COMMAND = "  rhythmtrain "
NARROWEST = 30
HANGS = re.compile(r"( *)(?:\S+(?: \S+)*  +)?")


def narrower(text: str, columns: int) -> str:
    """Return ``text``, laid out by ``lines``, in at most ``columns`` columns (at least 30)."""
    wide = max(columns, NARROWEST)
    if wide >= WIDTH:
        return text
    lines = (part for lines in _together(text) for part in _broken(_whole(lines), wide))
    return "\n".join(lines)


def relaid(text: str, words: Callable[[str], str]) -> str:
    """Return ``text``, laid out by ``lines``, with what can be done in it said by ``words``.

    Lines in which nothing is to be worded stay as they are.
    """
    return "\n".join(_relaid(text, words)) if holds_remedies(text) else text


def _relaid(text: str, words: Callable[[str], str]) -> Iterator[str]:
    for lines in _together(text):
        whole = _whole(lines)
        if not holds_remedies(whole):
            yield from lines
            continue
        for line in words(whole).split("\n"):
            yield from _broken(line, WIDTH) if line.strip() else [""]


def _whole(lines: list[str]) -> str:
    """Return one line as it was before it was broken."""
    first, *others = lines
    return " ".join([first, *(line.strip() for line in others)])


def _together(text: str) -> list[list[str]]:
    """Return the lines of ``text``, together those that were one before they were broken."""
    found: list[list[str]] = []
    last = ""
    for line in text.split("\n"):
        indent = len(line) - len(line.lstrip())
        word = line.split()[0] if line.strip() else ""
        goes_on = word and found and found[-1][0] and indent == _hang(_whole(found[-1]))
        if goes_on and len(last) + 1 + len(word) > WIDTH:
            found[-1].append(line)
        else:
            found.append([line])
        last = line
    return found


def _broken(line: str, columns: int) -> list[str]:
    if len(line) <= columns or line.startswith(COMMAND):
        return [line]
    hang = min(_hang(line), columns // 2)
    return wrap(
        line,
        columns,
        subsequent_indent=" " * hang,
        drop_whitespace=True,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _hang(line: str) -> int:
    """Return where what follows a label begins; how far in the line stands where it has none."""
    match = HANGS.match(line)
    return match.end() if match else 0
