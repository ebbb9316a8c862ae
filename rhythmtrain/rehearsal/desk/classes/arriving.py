"""A recording on its way into a class: to the disk as it comes, in the class once it is whole.

What a browser calls a file is only ever shown, never a path.  A recording is written before its
line, so a program that is killed leaves nothing half-heard; one that comes again, under the same
name, takes the place of the older one.
"""

import json
import os
import secrets
from contextlib import suppress
from pathlib import Path, PurePosixPath
from typing import Any, Self

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.classes.naming import came_as, names_in
from rhythmtrain.rehearsal.desk.classes.recordings import LINES, Brought, brought
from rhythmtrain.rehearsal.desk.classes.shelf import LONGEST_NAME, SOUNDS, Classes, shown, to_hear
from rhythmtrain.storage.class_folder import TAKES
from rhythmtrain.storage.safely import told_plainly

MOST_RECORDINGS = 500
MOST_BYTES = 8_000_000_000
LONGEST_CALLED = 500
Document = dict[str, Any]


class Arriving:
    """A recording on its way into a class; use it in a ``with`` statement.

    Its bytes go to the disk as they come, so that a video of a quarter of an hour needs no memory;
    what does not come whole is gone again.
    """

    def __init__(self, classes: Classes, folder: Path, called: str) -> None:
        """Await the recording that lies at ``called`` in the teacher's own folder.

        "Anna/one.m4a" is Anna's, and so is "Anna.m4a".

        Raises:
            RequestError: no kind of recording, a name that is too long, more than a class holds.
        """
        self._classes, self._folder = classes, folder
        self._called = "/".join(each for each in map(shown, called.split("/")) if each)
        self._student = came_as(names_in(folder), _student(self._called))
        file = f"{secrets.token_hex(8)}{PurePosixPath(self._called).suffix.lower()}"
        self._path = folder / SOUNDS / file
        self._beside = self._path.with_name(f".{file}")
        self._size = 0
        _check_room(brought(folder), self._called, 0)

    def __enter__(self) -> Self:
        """Begin to write; FileError where that cannot be done."""
        with told_plainly(self._path):
            self._open = self._beside.open("wb")
        return self

    def write(self, data: bytes) -> None:
        """Write what came; FileError where the disk is full."""
        self._size += len(data)
        with told_plainly(self._path):
            self._open.write(data)

    def whole(self) -> Document:
        """Keep the recording, now that all of it came, in place of an older one of its name.

        Where the class began to be heard meanwhile, the older one is heard to its end: it is
        nobody's any more, and swept away before the class is heard again.
        """
        with self._classes.alone():
            before = brought(self._folder)
            _check_room(before, self._called, self._size)
            with told_plainly(self._path):
                self._open.close()
                self._beside.replace(self._path)
            _add_line(
                self._folder, Brought(self._path.name, self._student, self._called, self._size)
            )
            older = [each for each in before if each.called == self._called]
            nobody_hears = to_hear(self._folder) if older else None
            if nobody_hears is not None:
                for each in older:
                    (self._folder / SOUNDS / each.file).unlink(missing_ok=True)
                nobody_hears.let_go()
        name = names_in(self._folder).get(self._student, self._student)
        return {"student": name, "called": self._called, "instead": bool(older)}

    def __exit__(self, *_: object) -> None:
        """Take away what was not kept."""
        with suppress(OSError):  # a disk that is full says so once more
            self._open.close()
        self._beside.unlink(missing_ok=True)


def _student(called: str) -> str:
    """Return whose a recording is; RequestError where it is none, or has no usable name."""
    if len(called) > LONGEST_CALLED:
        raise RequestError(
            f"{called[:60]} … has a name of more than {LONGEST_CALLED} letters: shorten it"
        )
    if PurePosixPath(called).suffix.lower() not in TAKES:
        kinds = " ".join(sorted(TAKES))
        raise RequestError(f"{called[-80:] or 'that'} is no recording: bring one of {kinds}")
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
