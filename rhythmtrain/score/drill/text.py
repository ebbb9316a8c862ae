"""The text of a drill file: TOML, with the line in which a key, or a word in a rhythm, stands.

TOML's reader forgets where a value stood.  A person who mistyped a count in bar 3 wants the line
of the file, so the place of a plain block (triple quotation marks, no escapes) is found again by its key and
believed only when the characters there are the value that was read.
"""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from rhythmtrain.errors import DrillError

LARGEST_DRILL = 1_000_000
_TOML_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
# Reading a key of n dotted parts takes n² steps; no drill has keys of more than one.
_DOTTED = re.compile(r"""(?<![\w"'-])(?:[\w"'-]+[ \t]*\.[ \t]*){50}""", re.ASCII)
_FENCES = ('"""', "'''", '"', "'")
_HEADER = re.compile(r"^[ \t]*\[", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class DrillText:
    """A drill file's name and text; makes errors that say where they are."""

    name: str
    text: str

    def table(self) -> dict[str, object]:
        """Return what the TOML text holds.

        Raises:
            DrillError: not TOML, with the line; or more than 1 MB.
        """
        if len(self.text) > LARGEST_DRILL:
            raise self.error("a drill file may hold 1 MB at most: split it into several drills")
        if dotted := _DOTTED.search(self.text):
            where = self.text.count("\n", 0, dotted.start()) + 1
            raise DrillError("this is no key of a drill", line=where, file=self.name)
        try:
            return tomllib.loads(self.text)
        except RecursionError:
            raise self.error("the brackets in this file are nested too deeply") from None
        except ValueError as error:
            message = str(error)
            place = _TOML_PLACE.search(message)
            line = self.text.count("\n") + 1 if place and not place[1] else None
            raise DrillError(
                f"this is not TOML: {_TOML_PLACE.sub('', message)} "
                '(text stands between quotation marks, like title = "March")',
                line=int(place[1]) if place and place[1] else line,
                column=int(place[2]) if place and place[2] else None,
                file=self.name,
            ) from None

    def error(self, message: str, key: str | None = None) -> DrillError:
        """Return an error about ``key``, to be raised, with its line where that can be told."""
        return DrillError(message, line=self.line_of(key) if key else None, file=self.name)

    def line_of(self, key: str) -> int | None:
        """Return the line in which ``key`` stands before the first table, or None."""
        found = re.search(rf"^[ \t]*{re.escape(key)}[ \t]*=", self._head(), re.MULTILINE)
        return None if found is None else self.text.count("\n", 0, found.end()) + 1

    def within(self, key: str, value: str, error: DrillError) -> DrillError:
        """Return an error in the text ``value`` of ``key`` as an error in this file."""
        place = self._value_place(key, value)
        if error.line is None or place is None:
            inside = "" if error.line is None else f"{key} line {error.line}: "
            line = self.line_of(key)
            return DrillError(inside + error.message, line=line, bar=error.bar, file=self.name)
        first, indent = place
        column = error.column
        if column is not None and error.line == 1:
            column += indent
        return DrillError(
            error.message,
            line=first + error.line - 1,
            column=column,
            bar=error.bar,
            file=self.name,
        )

    def _head(self) -> str:
        header = _HEADER.search(self.text)
        return self.text[: header.start()] if header else self.text

    def _value_place(self, key: str, value: str) -> tuple[int, int] | None:
        """Return the line of the value's first letter, and how many letters stand before it."""
        for found in re.finditer(rf"^[ \t]*{re.escape(key)}[ \t]*=[ \t]*", self.text, re.MULTILINE):
            for fence in _FENCES:
                at = found.end() + len(fence)
                if not self.text.startswith(fence, found.end()):
                    continue
                if len(fence) > 1 and self.text.startswith("\n", at):
                    at += 1
                if self.text.startswith(value + fence, at):
                    line_start = self.text.rfind("\n", 0, at) + 1
                    return self.text.count("\n", 0, at) + 1, at - line_start
        return None


def unknown_key(key: str, allowed: Iterable[str], where: str) -> str:
    """Return the sentence for a key that no drill has, with the nearest one that it has."""
    known = sorted(allowed)
    near = get_close_matches(key, known, n=1)
    hint = f"did you mean {near[0]!r}?" if near else f"it may hold {', '.join(known)}"
    return f"{where} has no key {key[:40]!r}; {hint}"
