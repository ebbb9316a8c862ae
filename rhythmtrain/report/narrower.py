"""An answer in a window narrower than it was laid out for: its lines broken anew.

Paragraphs and tables hang where they hung before.  A line that was broken is put together first: the
next one belongs to it where it stands just as far in and its first word had no room.  A command
stays in one piece, so that it can be copied.
"""

import re
from textwrap import wrap

from rhythmtrain.report.lines import WIDTH

COMMAND = "  rhythmtrain "
NARROWEST = 30
HANGS = re.compile(r"( *)(?:\S+(?: \S+)*  +)?")


def narrower(text: str, columns: int) -> str:
    """Return ``text``, laid out by ``lines``, in at most ``columns`` columns (at least 30)."""
    wide = max(columns, NARROWEST)
    if wide >= WIDTH:
        return text
    lines = (part for line in _whole(text.split("\n")) for part in _broken(line, wide))
    return "\n".join(lines)


def _whole(lines: list[str]) -> list[str]:
    """Return lines as they were before they were broken."""
    found: list[str] = []
    last = ""
    for line in lines:
        indent = len(line) - len(line.lstrip())
        word = line.split()[0] if line.strip() else ""
        goes_on = word and found and found[-1] and indent == _hang(found[-1])
        if goes_on and len(last) + 1 + len(word) > WIDTH:
            found[-1] = f"{found[-1]} {line.strip()}"
        else:
            found.append(line)
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
