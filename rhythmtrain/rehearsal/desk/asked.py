"""Values that a page sent, read with care: each of the kind that is wanted, or one sentence."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from rhythmtrain.errors import RequestError

LONGEST_TEXT = 1_000_000
# Yes and no as an address has them.
WORDS: dict[str, bool] = {"true": True, "false": False}


@dataclass(frozen=True, slots=True)
class Asked:
    """What one request asks for: the values of its document, and its bytes where it brings a file."""

    values: Mapping[str, Any] = field(default_factory=dict)
    data: bytes = b""

    def text(self, key: str, usual: str | None = None) -> str:
        """Return a text; RequestError where it is missing or none."""
        value = self.values.get(key, usual)
        if not isinstance(value, str) or len(value) > LONGEST_TEXT:
            raise RequestError(f"{key} must be a text, got {_shown(value)}")
        return value

    def maybe_text(self, key: str) -> str | None:
        """Return a text, None where nothing was said."""
        return None if self.values.get(key) in (None, "") else self.text(key)

    def number(self, key: str, usual: float | None = None) -> float:
        """Return a finite number, also where it came as text; RequestError where it is none."""
        value = self.values.get(key, usual)
        if isinstance(value, str):
            value = _number_in(value)
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or not math.isfinite(value)
        ):
            raise RequestError(f"{key} must be a number, got {_shown(self.values.get(key))}")
        return float(value)

    def maybe_number(self, key: str) -> float | None:
        """Return a number, None where nothing was said."""
        return None if self.values.get(key) is None else self.number(key)

    def whole(self, key: str, usual: int | None = None) -> int:
        """Return a whole number; RequestError where it is missing or none."""
        value = self.number(key, usual)
        if value != int(value):
            raise RequestError(f"{key} must be a whole number, got {value:g}")
        return int(value)

    def truth(self, key: str, *, usual: bool = False) -> bool:
        """Return yes or no; RequestError where it is neither."""
        value = self.values.get(key, usual)
        value = WORDS.get(value, value) if isinstance(value, str) else value
        if not isinstance(value, bool):
            raise RequestError(f"{key} must be true or false, got {_shown(value)}")
        return value

    def rows(self, key: str, most: int) -> list[Any]:
        """Return a list of at most ``most`` things; RequestError where it is none."""
        value = self.values.get(key, [])
        if not isinstance(value, list) or len(value) > most:
            raise RequestError(f"{key} must be a list of at most {most}, got {_shown(value)}")
        return value


def _shown(value: object) -> str:
    return "nothing" if value is None else repr(value)[:60]


def _number_in(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
