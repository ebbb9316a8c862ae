"""The recordings that were brought into a class, and whose each is.

They lie in the class's folder under names made here, with a line for each that came whole
(``recordings.jsonl``): the student's name as the teacher spells it, and what the file was called in
the teacher's own folder.  What a browser calls a file is only ever shown, never a path.  A recording
is written before its line, so a program that is killed leaves nothing half-heard; one that comes
again takes the place of the older one.
"""

import json
import os
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.class_shelf import LONGEST_NAME, SOUNDS, Classes, shown
from rhythmtrain.storage.class_folder import TAKES, Student, in_order
from rhythmtrain.storage.safely import told_plainly, write_bytes_safely

LINES = "recordings.jsonl"
MOST_RECORDINGS = 500
MOST_BYTES = 8_000_000_000
LONGEST_CALLED = 500
Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Brought:
    """A recording that was brought: its file, whose it is, what it was called, its bytes."""

    file: str
    student: str
    called: str
    size: int


def recording_came(classes: Classes, folder: Path, asked: Asked) -> Document:
    """Keep a recording whose bytes came; "called" is its place in the teacher's own folder.

    "Anna/one.m4a" is Anna's, and so is "Anna.m4a".

    Raises:
        RequestError: no kind of recording, a name that is too long, more than a class holds.
        FileError: it cannot be written.
    """
    called = "/".join(each for each in map(shown, asked.text("called").split("/")) if each)
    if len(called) > LONGEST_CALLED:
        raise RequestError(
            f"{called[:60]} … has a name of more than {LONGEST_CALLED} letters: shorten it"
        )
    ending = PurePosixPath(called).suffix.lower()
    if ending not in TAKES:
        kinds = " ".join(sorted(TAKES))
        raise RequestError(f"{called[-80:] or 'that'} is no recording: bring one of {kinds}")
    student = _student(called)
    file = f"{secrets.token_hex(8)}{ending}"
    with classes.lock:
        before = brought(folder)
        _check_room(before, called, len(asked.data))
        write_bytes_safely(folder / SOUNDS / file, asked.data)
        _add_line(folder, Brought(file, student, called, len(asked.data)))
        for each in before:
            if each.called == called:
                (folder / SOUNDS / each.file).unlink(missing_ok=True)
    return {"student": student, "called": called}


def recording_gone(classes: Classes, folder: Path, file: str) -> Document:
    """Leave the recording ``file`` out of a class for good; RequestError where there is none."""
    with classes.lock:
        for each in brought(folder):
            if each.file == file:
                (folder / SOUNDS / each.file).unlink(missing_ok=True)
                return {"gone": each.called}
    raise RequestError("that recording is not here any more: look at the class again")


def brought(folder: Path) -> list[Brought]:
    """Return the recordings of a class that are whole and there, in the order they came."""
    latest = {each.called: each for each in _lines(folder / LINES)}
    return [each for each in latest.values() if (folder / SOUNDS / each.file).is_file()]


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


def _student(called: str) -> str:
    first, inside, _ = called.partition("/")
    name = first if inside else PurePosixPath(called).stem
    if len(name) > LONGEST_NAME:
        raise RequestError(
            f"{name[:60]} … is a name of more than {LONGEST_NAME} letters: shorten it"
        )
    return name


def _check_room(before: list[Brought], called: str, size: int) -> None:
    others = [each for each in before if each.called != called]
    if len(others) >= MOST_RECORDINGS:
        raise RequestError(
            f"a class holds {MOST_RECORDINGS} recordings: make another class for {called[-80:]}"
        )
    if sum(each.size for each in others) + size > MOST_BYTES:
        raise RequestError(
            f"the recordings of a class take at most {MOST_BYTES // 10**9} GB: make another class "
            f"for {called[-80:]}"
        )


def _add_line(folder: Path, one: Brought) -> None:
    """Add a line; it begins anew, so half a line before it loses only itself."""
    told = {"file": one.file, "student": one.student, "called": one.called, "size": one.size}
    path = folder / LINES
    with told_plainly(path), path.open("ab") as file:
        file.write(f"\n{json.dumps(told, ensure_ascii=False)}\n".encode())
        file.flush()
        os.fsync(file.fileno())


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
