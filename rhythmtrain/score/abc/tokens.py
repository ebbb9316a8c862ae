"""The signs of ABC's music lines, one after the other (ABC 2.1, section 4).

What says nothing about rhythm (slurs, ornaments, chord symbols, grace notes) is passed over.  No sign is
longer than a person writes it, so that a line of a million brackets is soon read too.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

LENGTH = r"(?:\d{1,4})?(?:/{1,9}(?:\d{1,4})?)?"
PITCH = r"(?:\^\^|\^|__|_|=)?[A-Ga-g][,']{0,9}"
BAR = (
    r"(?P<bar>(?::{1,9}\|{1,3}:{1,9}|:{1,9}\|{1,3}\]?|::{1,9}|\|{1,3}:{1,9}|\|\]|\[\||\|{1,3})"
    r"(?:\[?\d[\d,\-]{0,20})?|\[\d[\d,\-]{0,20})"
)
_SIGNS = re.compile(
    "|".join(
        (
            r'(?P<words>"[^"]{0,400}")',
            r"(?P<decoration>![^!|\s]{0,40}!)",
            r"(?P<grace>\{[^}]{0,200}\})",
            r"(?P<field>\[[A-Za-z]:[^\]]{0,200}\])",
            BAR,
            r"(?P<tuplet>\(\d(?::\d?(?::\d{0,2})?)?)",
            rf"(?P<chord>\[(?:{PITCH}{LENGTH}-?\s?){{1,30}}\]{LENGTH}-?)",
            rf"(?P<note>{PITCH}{LENGTH}\s*-?)",
            rf"(?P<rest>[zx]{LENGTH})",
            r"(?P<bars>[ZX]\d{0,3})",
            r"(?P<broken>>{1,3}|<{1,3})",
            r"(?P<overlay>&)",
            r"(?P<short>[HL])",
        )
    ),
    re.ASCII,
)


@dataclass(frozen=True, slots=True)
class Token:
    """One sign: what kind it is, and its text."""

    kind: str
    text: str


def tokens(line: str) -> Iterator[Token]:
    """Yield the signs of a line of music that matter."""
    for found in _SIGNS.finditer(line):
        yield Token(found.lastgroup or "", found[0])
