"""The keys of a drill file, and their values checked one by one.

A section is one table of the file.  Every key is known or refused; every value has the kind its
key wants.  A number is finite, a path stays in the drill's folder, a line of text is one line.
"""

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from rhythmtrain.errors import DrillError
from rhythmtrain.score.drill.text import DrillText, unknown_key

DRILL_KEYS = (
    "title", "about", "metre", "tempo", "beat", "rhythm", "cue", "tune",
    "entry", "accompaniment", "model", "score", "part", "bars",
    "cue_part", "seen",
)  # fmt: skip
ENTRY_KEYS = ("bar", "count", "prepare", "say")
ACCOMPANIMENT_KEYS = ("recording", "beats", "notes", "meet")
MODEL_KEYS = ("recording", "beats")
LONGEST_LINE = 500
LARGEST_NUMBER = 100_000
MOST_TABLES = 10_000
_DRIVE = re.compile(r"[A-Za-z]:")


@dataclass(frozen=True, slots=True)
class Section:
    """One table of a drill file; ``where`` is how a sentence calls it.

    Raises:
        DrillError: a key that is not among ``keys``.
    """

    source: DrillText
    where: str
    values: dict[str, object]
    keys: tuple[str, ...]

    def __post_init__(self) -> None:
        """Refuse keys that do not belong here."""
        for key in self.values:
            if key not in self.keys:
                raise self.error(unknown_key(key, self.keys, self.where), key)

    def error(self, message: str, key: str | None = None) -> DrillError:
        """Return an error about ``key`` of this section, to be raised."""
        return self.source.error(message, key)

    def text(self, key: str) -> str | None:
        """Return the text of ``key``, of any number of lines, or None."""
        value = self.values.get(key)
        if value is None or isinstance(value, str):
            return value
        raise self._wrong(key, "text between quotation marks")

    def line(self, key: str) -> str | None:
        """Return the text of ``key`` as one line, or None."""
        text = self.text(key)
        if text is None:
            return None
        line = " ".join(text.split())
        if len(line) > LONGEST_LINE or not line.isprintable():
            raise self.error(f"{key} must be one line of at most {LONGEST_LINE} letters", key)
        return line

    def number(self, key: str) -> float | None:
        """Return the number of ``key``, or None."""
        value = self.values.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise self._wrong(key, "a number")
        if isinstance(value, int) and abs(value) > LARGEST_NUMBER:
            raise self.error(f"{key} is too large a number", key)
        if not math.isfinite(value):
            raise self.error(f"{key} must be an ordinary number, got {value}", key)
        return float(value)

    def whole(self, key: str) -> int | None:
        """Return the whole number of ``key``, 0 or more, or None."""
        value = self.values.get(key)
        if value is None:
            return None
        return self._whole(key, value)

    def whole_numbers(self, key: str) -> tuple[int, ...]:
        """Return the list of whole numbers of ``key``, empty where there is none."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or len(value) > MOST_TABLES:
            raise self._wrong(key, "a list of whole numbers, like [1, 5, 9]")
        return tuple(self._whole(key, each) for each in value)

    def name_or_number(self, key: str) -> str | None:
        """Return the text of ``key``, or its whole number as text, or None."""
        value = self.values.get(key)
        if isinstance(value, int):
            return str(self._whole(key, value))
        return self.line(key)

    def path(self, key: str) -> str | None:
        """Return the path of ``key``, which stays in the drill's folder, or None."""
        path = self.text(key)
        if path is None:
            return None
        parts = path.split("/")
        plain = path.isprintable() and "\\" not in path and _DRIVE.match(path) is None
        if not plain or ".." in parts or path.startswith(("/", "~")) or not parts[-1].strip():
            raise self.error(
                f"{key} names {path[:60]!r}, but a drill's files stand in its own folder: "
                "write a plain name, or folder/name",
                key,
            )
        return path

    def sections(self, key: str, keys: tuple[str, ...]) -> Iterator["Section"]:
        """Yield the tables called ``key``, if any."""
        value = self.values.get(key, [])
        tables = [value] if isinstance(value, dict) else value
        many = key == "entry"
        if not isinstance(tables, list) or (isinstance(value, list) and value and not many):
            raise self._wrong(key, f"a table, written [{key}]")
        for table in tables[:MOST_TABLES]:
            if not isinstance(table, dict):
                raise self._wrong(key, f"a table, written {f'[[{key}]]' if many else f'[{key}]'}")
            yield Section(self.source, key, table, keys)

    def _whole(self, key: str, value: object) -> int:
        if isinstance(value, bool) or not isinstance(value, int):
            raise self._wrong(key, "a whole number")
        if not 0 <= value <= LARGEST_NUMBER:
            raise self.error(f"{key} must be a whole number from 0 to {LARGEST_NUMBER}", key)
        return value

    def _wrong(self, key: str, wanted: str) -> DrillError:
        shown = str(self.values[key]) if not isinstance(self.values[key], dict | list) else "a list"
        return self.error(f"{key} must be {wanted}, got {shown[:40]!r}", key)
