"""The file that settings are kept in: one JSON document in the user's folder, read and changed whole.

Two programs change it one after the other, so that neither undoes what the other set.  A file that
cannot be read is set aside under a name of its own and said so.
"""

import json
import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

from rhythmtrain.errors import FileError
from rhythmtrain.storage.alone import alone_in
from rhythmtrain.storage.places import user_folder
from rhythmtrain.storage.safely import told_plainly, write_bytes_safely

FILE_NAME = "settings.json"
Document = dict[str, Any]


def settings_file(folder: Path | None = None) -> Path:
    """Return where the settings lie, in ``folder`` or the user's own."""
    return (folder or user_folder()) / FILE_NAME


def read_settings(folder: Path | None = None) -> Document:
    """Return everything that is set, nothing where there is no file.

    Raises:
        FileError: the file is damaged; it is set aside, and the next call begins anew.
    """
    file = settings_file(folder)
    try:
        return _parsed(file)
    except (ValueError, RecursionError):
        with alone_in(file.parent):
            return _read_alone(file)


def change_settings(change: Callable[[Document], Document], folder: Path | None = None) -> None:
    """Add to what is set what ``change`` makes of it; no other program changes it meanwhile.

    Raises:
        FileError: the folder cannot be written to, or the file is damaged and is set aside.
    """
    file = settings_file(folder)
    with told_plainly(file):
        file.parent.mkdir(parents=True, exist_ok=True)
    with alone_in(file.parent):
        settings = _read_alone(file)
        changed = {**settings, **change(settings)}
        text = json.dumps(changed, ensure_ascii=False, allow_nan=False, indent=1)
        write_bytes_safely(file, text.encode("utf-8", "surrogatepass"))


def _read_alone(file: Path) -> Document:
    """Return what is set; a damaged file is set aside, which only one program may do."""
    try:
        return _parsed(file)
    except (ValueError, RecursionError) as error:
        raise _set_aside(file) from error


def _parsed(file: Path) -> Document:
    """Return what stands in the file, nothing where there is none; ValueError where it is damaged."""
    with told_plainly(file):
        try:
            raw = file.read_bytes()
        except FileNotFoundError:
            return {}
    settings = json.loads(raw, parse_constant=_no_number, parse_float=_finite)
    if not isinstance(settings, dict):
        raise ValueError(file)  # noqa: TRY004  (damaged, as what is no JSON at all)
    return settings


def _set_aside(file: Path) -> FileError:
    """Set the file aside and return an error, to be raised, that says so."""
    number = 1
    while (aside := file.with_name(f"settings-damaged-{number}.json")).exists():
        number += 1
    with told_plainly(file):
        file.rename(aside)
    return FileError(
        f"{file} was damaged and is now {aside.name}: settings begin anew, measure the sound "
        "delay again"
    )


def _finite(digits: str) -> float:
    number = float(digits)
    return number if math.isfinite(number) else _no_number(digits)


def _no_number(word: str) -> float:
    raise ValueError(word)
