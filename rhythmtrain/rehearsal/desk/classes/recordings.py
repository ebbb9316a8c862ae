"""The recordings that were brought into a class, and whose each is.

They lie in the class's folder under names made here, with a line for each that came whole
(``recordings.jsonl``): the student's name as the teacher spells it, and what the file was called in
the teacher's own folder.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.desk.classes.shelf import SOUNDS
from rhythmtrain.storage.class_folder import Student, in_order

LINES = "recordings.jsonl"
Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Brought:
    """A recording that was brought: its file, whose it is, what it was called, its bytes."""

    file: str
    student: str
    called: str
    size: int


def recording_gone(folder: Path, file: str) -> Document:
    """Leave the recording ``file`` out of a class for good; RequestError where there is none."""
    for each in brought(folder):
        if each.file == file:
            (folder / SOUNDS / each.file).unlink(missing_ok=True)
            return {"gone": each.called}
    raise RequestError("that recording is not here any more: look at the class again")


def brought(folder: Path) -> list[Brought]:
    """Return the recordings of a class that are whole and there, in the order they came."""
    latest = {each.called: each for each in _lines(folder / LINES)}
    return [each for each in latest.values() if (folder / SOUNDS / each.file).is_file()]


def swept(folder: Path, before_s: float) -> None:
    """Remove recordings that never came whole, if they were last written before the time ``before_s``.

    They are what a program that was killed left behind; a younger one may still be on its way.
    """
    known = {each.file for each in brought(folder)}
    for path in (folder / SOUNDS).iterdir():
        if path.name not in known and path.stat().st_mtime < before_s:
            path.unlink(missing_ok=True)


def students_of(folder: Path) -> tuple[Student, ...]:
    """Return the students of a class by name, each with the recordings by theirs."""
    found: dict[str, list[Brought]] = {}
    for each in sorted(brought(folder), key=lambda one: in_order(one.called)):
        found.setdefault(each.student, []).append(each)
    return tuple(
        Student(
            name,
            tuple(folder / SOUNDS / each.file for each in found[name]),
            tuple(each.called for each in found[name]),
        )
        for name in sorted(found, key=in_order)
    )


def _lines(path: Path) -> Iterator[Brought]:
    try:
        data = path.read_bytes() if path.is_file() else b""
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror or error}") from error
    for line in data.split(b"\n"):
        try:
            told = json.loads(line)
            yield Brought(
                PurePosixPath(told["file"]).name, told["student"], told["called"], int(told["size"])
            )
        except (ValueError, KeyError, TypeError):
            continue
