"""What a person can do about it: a value in the sentence that says so.

"These claps fit no rhythm in this metre: give *the tempo*, or check *the metre*" is true wherever it
is read, but on a command line one gives ``--tempo 72`` and at the page there is a field.  So whoever
raises such a sentence says *what* can be done, by :func:`option` and :func:`remedy`, and each edge
says *how*, with a table of its own and :func:`worded`.

A sentence goes a long way from one to the other: it is put behind a file's name or into another
sentence, broken into lines, sent from a process to the next.  So what can be done stands in it as
text, between characters that Unicode keeps for use inside a program and that are in no text that
anybody writes (The Unicode Standard, section 23.7, noncharacters).
"""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

OPENS, PARTS, CLOSES = "\ufdd0", "\ufdd1", "\ufdd2"
OPTION = "option"
_PLACE = re.compile(f"{OPENS}([^{CLOSES}]*){CLOSES}")
_NOT_GIVEN = {ord(each): None for each in (OPENS, PARTS, CLOSES)}


def option(name: str, *given: object) -> str:
    """Return the wish called ``name``, for a sentence; ``given`` is what could be wished for."""
    return _place(OPTION, name, *given)


def remedy(name: str, *given: object) -> str:
    """Return what to do that is called ``name``, for a sentence; ``given`` is what it is done with."""
    return _place(name, *given)


def _place(*parts: object) -> str:
    return f"{OPENS}{PARTS.join(str(each).translate(_NOT_GIVEN) for each in parts)}{CLOSES}"


@dataclass(frozen=True, slots=True)
class Wording:
    """How an edge says what can be done.

    ``remedies`` holds what is said for each, with {0}, {1} … for what it is done with; ``option``
    gives what an option is called.
    """

    remedies: Mapping[str, str]
    option: Callable[[str], str]

    def said(self, name: str, *given: str) -> str:
        """Return how ``name`` is said; KeyError or IndexError where the edge has no word for it."""
        if name != OPTION:
            return self.remedies[name].format(*given)
        wish, *values = given
        return " ".join([self.option(wish), *values])


def holds_remedies(sentence: str) -> bool:
    """Return whether something in ``sentence`` is still to be worded."""
    return OPENS in sentence


def worded(sentence: str, wording: Wording) -> str:
    """Return ``sentence`` as an edge says it; what it has no word for stays as it is."""

    def said(found: re.Match[str]) -> str:
        name, *given = found[1].split(PARTS)
        try:
            return wording.said(name, *given)
        except (KeyError, IndexError, ValueError):
            return found[0]

    return _PLACE.sub(said, sentence) if holds_remedies(sentence) else sentence


def all_worded(value: Any, words: Callable[[str], str]) -> Any:
    """Return ``value``, a document or a part of one, with every sentence in it said by ``words``."""
    if isinstance(value, str):
        return words(value)
    if isinstance(value, dict):
        return {key: all_worded(each, words) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [all_worded(each, words) for each in value]
    return value
