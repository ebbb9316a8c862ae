"""The signs of ABC's music lines, one after the other (ABC 2.1, section 4).

Every character belongs to a sign: what says nothing about rhythm (slurs, grace notes, blanks, the characters
that 2.1 keeps for later) is passed over, what is no sign at all is ``stray``, and what opens and is never
closed on its line is ``open``.  No sign is longer than a person writes it, so that a line of a million
brackets is soon read too.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

LENGTH = r"[\d/]*"
PITCH = r"(?:\^\^|\^|__|_|=)?[A-Ga-g][,']*"
BAR = (
    r"(?P<bar>\.?(?:\[?:{1,9}\|{1,3}:{1,9}|:{1,9}\|{1,3}\]?|::{1,8}|\[?\|{1,3}:{1,9}|\|\]|\[\|\]?"
    r"|\|{1,3})(?:\[?\d[\d,\-]{0,20})?|\[\d[\d,\-]{0,20})"
)
_SIGNS = re.compile(
    "|".join(
        (
            r'(?P<words>"[^"]{0,400}")',
            rf"(?P<old_chord>\+(?:{PITCH}{LENGTH}){{2,9}}\+{LENGTH})",
            r"(?P<decoration>![^!|\s]{1,40}!|\+[^+|\s]{1,40}\+)",
            r"(?P<grace>\{[^{}]{0,400}\})",
            r"(?P<field>\[[A-Za-z]:[^\]]{0,200}\])",
            BAR,
            r"(?P<tuplet>\((?=\d)\d{1,9}(?::\d{0,9}){0,2})",
            rf"(?P<chord>\[[^\[\]|]{{1,200}}\]{LENGTH}(?:\s*\.?-)?)",
            rf"(?P<note>{PITCH}{LENGTH}(?:\s*\.?-)?)",
            rf"(?P<rest>[zx]{LENGTH})",
            r"(?P<bars>[ZX]\d*)",
            r"(?P<broken>>+|<+)",
            r"(?P<overlay>&+)",
            r"(?P<letter>[H-Wh-w~.])",
            r"(?P<slur>[()])",
            r"(?P<blank>\s+)",
            r"(?P<passed>[`$\\*;?@#]+|y[\d/]*|!(?=\s|$)|\[(?=\"))",
            r"(?P<line_end>!(?![A-Za-z]*[h-wyH-WY]))",
            r"(?P<apart>\.?-)",
            r'(?P<open>["!\[{])',
            r"(?P<stray>\d+|.)",
        )
    ),
    re.ASCII | re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Token:
    """One sign: what kind it is, and its text."""

    kind: str
    text: str


def tokens(line: str) -> Iterator[Token]:
    """Yield the signs of a line of music, all but those that are passed over."""
    for found in _SIGNS.finditer(line):
        if found.lastgroup not in ("passed", "grace"):
            yield Token(found.lastgroup or "", found[0])
