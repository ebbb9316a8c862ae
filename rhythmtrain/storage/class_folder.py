"""A teacher's folder of recordings that students sent: who is in it, and the files of each.

A folder within it is a student, and so is a recording that lies there by itself; all recordings
within a student's folder are theirs.  What no take can be (a photo, a letter) is passed over.
Names stay in the files that the teacher made.
"""

import tomllib
import unicodedata
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rhythmtrain.errors import FileError
from rhythmtrain.storage.recordings import AUDIO_ENDINGS
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.scores import SCORE_ENDINGS
from rhythmtrain.storage.takes import MIDI_ENDINGS

CLASS_FILE, NOTES_FILE, CLASS_PAGE = "class.toml", "notes.toml", "class.html"
TAKES = AUDIO_ENDINGS | MIDI_ENDINGS | {".txt"}
MOST_DEEP = 4
MOST_FILES = 10_000
LARGEST_NOTES = 1_000_000
NOTES_HEAD = (
    "# One line for each student, shown on their page the next time the class is heard.\n"
    "# This file is yours: it is written once and never written over.\n\n"
)
KEPT_HEAD = "# Your line for each student, as it was typed.\n\n"


@dataclass(frozen=True, slots=True)
class Student:
    """One student: the name as the teacher spells it, and the recordings, oldest name first.

    ``called`` is what each recording is called where people read of it, which need not be what its
    file is called.
    """

    name: str
    files: tuple[Path, ...]
    called: tuple[str, ...]


def students_in(folder: Path, *, beside: Collection[Path] = ()) -> tuple[Student, ...]:
    """Return the students whose recordings lie in ``folder``, by name.

    ``beside`` are files and folders that belong to nobody: the recorded accompaniment, and where
    pages are written.  A folder of pages that was made before is nobody either.

    Raises:
        FileError: no such folder, it may not be read, or nobody is in it.
    """
    skipped = {path.resolve() for path in beside}
    found: dict[str, list[Path]] = {}
    for path in _listed(folder):
        if path.resolve() in skipped:
            continue
        if path.is_dir():
            if not (path / CLASS_PAGE).exists():
                found.setdefault(spelt(path.name), []).extend(_recordings(path, MOST_DEEP))
        elif path.suffix.lower() in TAKES:
            found.setdefault(spelt(path.stem), []).append(path)
    if not found:
        raise FileError(
            f"there is no recording in {folder}: put one folder or file for each student into it"
        )
    return tuple(
        _student(name, sorted(found[name]), folder) for name in sorted(found, key=in_order)
    )


def _student(name: str, files: list[Path], folder: Path) -> Student:
    called = tuple(spelt(path.relative_to(folder).as_posix()) for path in files)
    return Student(name, tuple(files), called)


def in_order(name: str) -> tuple[str, str]:
    """Return what names are sorted by: an é stands beside the e."""
    plain = unicodedata.normalize("NFKD", name).casefold()
    return "".join(sign for sign in plain if not unicodedata.combining(sign)), name


def spelt(name: str) -> str:
    """Return a name as it can be shown: what is no letter becomes a question mark."""
    return name.encode("utf-8", "replace").decode("utf-8")


def passages_in(folder: Path) -> tuple[Path, ...]:
    """Return the drills and MusicXML scores that lie in ``folder`` itself."""
    own = {CLASS_FILE, NOTES_FILE}
    endings = SCORE_ENDINGS | {".toml"}
    return tuple(
        path
        for path in _listed(folder)
        if path.is_file() and path.suffix.lower() in endings and path.name not in own
    )


def read_class(folder: Path) -> dict[str, Any]:
    """Return what ``class.toml`` in ``folder`` says, nothing where there is none.

    Raises:
        FileError: it does not read.
    """
    return _table(folder / CLASS_FILE)


def read_notes(folder: Path) -> dict[str, str]:
    """Return the teacher's line for each student, from ``notes.toml`` in ``folder``.

    Raises:
        FileError: it does not read; the message says where.
    """
    table = _table(folder / NOTES_FILE)
    return {name: line.strip() for name, line in table.items() if isinstance(line, str)}


def begin_notes(folder: Path, names: Collection[str]) -> bool:
    """Write ``notes.toml`` with an empty line for each student where there is none yet.

    Raises:
        FileError: it cannot be written.
    """
    path = folder / NOTES_FILE
    if path.exists() or path.is_symlink():
        return False
    write_bytes_safely(path, notes_text(dict.fromkeys(names, ""), NOTES_HEAD).encode("utf-8"))
    return True


def keep_notes(folder: Path, notes: Mapping[str, str]) -> None:
    """Write ``notes.toml`` anew with a line for each student, where nobody edits it by hand.

    Raises:
        FileError: it cannot be written.
    """
    write_bytes_safely(folder / NOTES_FILE, notes_text(notes, KEPT_HEAD).encode("utf-8"))


def notes_text(notes: Mapping[str, str], head: str) -> str:
    """Return the teacher's lines as TOML, after ``head``."""
    return head + "".join(f"{_quoted(name)} = {_quoted(line)}\n" for name, line in notes.items())


def _quoted(name: str) -> str:
    """Return any text as TOML writes it on one line."""
    signs = {'"': '\\"', "\\": "\\\\"}
    plain = (signs.get(c, c if c.isprintable() else f"\\U{ord(c):08x}") for c in name)
    return f'"{"".join(plain)}"'


def _table(path: Path) -> dict[str, Any]:
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_NOTES + 1)
    except (FileNotFoundError, NotADirectoryError):
        return {}
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror or error}") from error
    if len(data) > LARGEST_NOTES:
        raise FileError(f"{path} is larger than 1 MB: it holds one line for each student")
    try:
        return tomllib.loads(data.decode("utf-8-sig").replace("\r\n", "\n"))
    except UnicodeDecodeError as error:
        raise FileError(f"{path} is not text in UTF-8: save it as plain text") from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise FileError(f"{path} does not read as TOML: {error}") from error


def _listed(folder: Path) -> list[Path]:
    """Return what lies in a folder, by name, without what is hidden."""
    try:
        found = sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    except FileNotFoundError as error:
        raise FileError(f"there is no folder {folder}") from error
    except NotADirectoryError as error:
        raise FileError(f"{folder} is a file: give the folder with the recordings") from error
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or error
        raise FileError(f"the folder {folder} cannot be read: {why}") from error
    if len(found) > MOST_FILES:
        raise FileError(f"there are more than {MOST_FILES} files in {folder}: is it the right one?")
    return found


def _recordings(folder: Path, deep: int) -> list[Path]:
    """Return the recordings in a student's folder and the folders within it."""
    found: list[Path] = []
    for path in _listed(folder):
        if path.is_dir():
            found += _recordings(path, deep - 1) if deep and not path.is_symlink() else []
        elif path.suffix.lower() in TAKES:
            found.append(path)
    return found
