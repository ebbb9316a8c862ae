"""Folders that travel: made where they are missing, with names that every system can keep.

A pack is made on one machine and opened on another, so its names avoid what Windows refuses (some
signs, device names such as "aux", a dot at the end) and differ in more than capitals.
"""

import re
import stat
import tempfile
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from rhythmtrain.errors import FileError
from rhythmtrain.remedies import remedy
from rhythmtrain.storage.safely import told_plainly

REFUSED = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]+')
DEVICES = re.compile(r"(con|prn|aux|nul|com[0-9¹²³]|lpt[0-9¹²³])\s*(\..*)?", re.IGNORECASE)
LONGEST_NAME = 60
NAMELESS = "passage"


def safe_name(text: str) -> str:
    """Return ``text`` as the name of a file or folder that Windows, macOS and Linux all take."""
    whole = text.encode("utf-8", "replace").decode("utf-8")
    plain = REFUSED.sub("-", unicodedata.normalize("NFC", whole))
    name = plain.strip(" .")[:LONGEST_NAME].strip(" .") or NAMELESS
    return f"the {name}" if DEVICES.fullmatch(name) else name


def distinct(names: Iterable[str], *, taken: Iterable[str] = ()) -> Iterator[str]:
    """Yield ``names``, those that came before (in any capitals) with ``-2``, ``-3`` and so on."""
    used = {name.casefold() for name in taken}
    for name in names:
        free, number = name, 1
        while free.casefold() in used:
            number += 1
            free = f"{name}-{number}"
        used.add(free.casefold())
        yield free


def made_folder(path: Path) -> Path:
    """Return the folder ``path``, made if it was missing, once it can be written into.

    Raises:
        FileError: a file stands there, or nothing may be written.
    """
    try:
        path.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=path):
            return path
    except FileExistsError as error:
        raise FileError(f"{path} is a file{remedy('name-a-folder')}") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise FileError(
            f"nothing can be written into the folder {path} ({why}){remedy('another-folder')}"
        ) from error


def files_there(folder: Path) -> list[Path]:
    """Return the files of ``folder`` that are there for all to see, the newest first.

    One that is taken away while they are looked at is left out, and so is a hidden one: it is not
    written whole yet.
    """
    found: list[tuple[float, Path]] = []
    for path in folder.iterdir():
        with suppress(FileNotFoundError):
            told = path.stat()
            if path.name[0] != "." and stat.S_ISREG(told.st_mode):
                found.append((-told.st_mtime, path))
    return [path for _, path in sorted(found)]


@contextmanager
def out_of_sight(folder: Path) -> Iterator[Path]:
    """Give a hidden folder inside ``folder`` to prepare files in; it is gone afterwards."""
    with tempfile.TemporaryDirectory(prefix=".", dir=folder, ignore_cleanup_errors=True) as hidden:
        yield Path(hidden)


def brought_in(prepared: Path, folder: Path) -> tuple[Path, ...]:
    """Return the files of ``prepared`` after moving them into ``folder``, over older ones.

    Raises:
        FileError: a file stands in the folder's place, or a folder in a file's.
    """
    with told_plainly(folder):
        folder.mkdir(exist_ok=True)
        moved = [path.replace(folder / path.name) for path in sorted(prepared.iterdir())]
        return tuple(moved)
