"""The names of keys in what a terminal sends.

Printable characters name themselves (a blank is "space"); cursor and function keys come as a
sequence that begins with Escape (ECMA-48: ``ESC [ … letter``, ``ESC O letter``), and are told by
that sequence.  Escape followed by one character is that key with Alt.  Escape alone, or at the end,
is the stop key.
"""

import re
from collections.abc import Iterator

from rhythmtrain.devices.ports import STOP_KEY

ONE_KEY = re.compile(r"\x1b\[[0-9;?]*[ -/]*[@-~]|\x1bO.|\x1b[^\x1b\[O]|.", re.DOTALL)
NAMES = {
    "\x1b": STOP_KEY,
    " ": "space",
    "\r": "enter",
    "\n": "enter",
    "\t": "tab",
    "\x7f": "backspace",
    "\x08": "backspace",
}
CURSOR = {"A": "up", "B": "down", "C": "right", "D": "left", "H": "home", "F": "end"}


def key_names(text: str) -> Iterator[str]:
    """Yield the name of every key in ``text``, in order; unknown control characters are left out."""
    for match in ONE_KEY.finditer(text):
        name = _name(match[0])
        if name:
            yield name


def _name(typed: str) -> str:
    if typed in NAMES:
        return NAMES[typed]
    if len(typed) == 1:
        return typed if typed.isprintable() else ""
    if typed[1] in "[O":
        return CURSOR.get(typed[-1], f"key {typed[1:]}")
    rest = NAMES.get(typed[1], typed[1] if typed[1].isprintable() else "")
    return f"alt {rest}" if rest else ""
