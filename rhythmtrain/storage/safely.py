"""Writing a file whole or not at all.

What is written goes to a hidden file beside its goal and takes the goal's name only when it is
complete.  Whatever stops it (a full disk, Ctrl-C, a failure further up) removes the hidden file,
and an older file of the same name stays as it was.
"""

import errno
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from rhythmtrain.errors import FileError

MEANINGS: dict[int, str] = {
    errno.ENOSPC: "the disk is full: make room, or write elsewhere",
    errno.EDQUOT: "your share of the disk is used up: make room, or write elsewhere",
    errno.EACCES: "you may not write there: give another folder",
    errno.EPERM: "you may not write there: give another folder",
    errno.EROFS: "nothing can be written there: give another folder",
    errno.ENAMETOOLONG: "the name is too long: give a shorter one",
    errno.EFBIG: "the file grew larger than the disk allows: make a shorter track",
}


def write_bytes_safely(path: Path, data: bytes) -> None:
    """Write ``data`` to ``path``, whole or not at all.

    Raises:
        FileError: the folder is not there or may not be written to, the disk is full.
    """
    with written_beside(path) as beside, told_plainly(path):
        beside.write_bytes(data)


def check_place(path: Path) -> None:
    """Raise FileError unless ``path`` could be a file: its folder is there, it is no folder."""
    folder = path.parent
    with told_plainly(path):
        if not folder.is_dir():
            raise FileError(f"the folder {folder} does not exist: make it first, or give another")
        if path.exists() and not path.is_file():
            raise FileError(f"{path} is not a file: give the name of a file")


@contextmanager
def written_beside(path: Path) -> Iterator[Path]:
    """Give a hidden path in the folder of ``path``; it is renamed to ``path`` if all goes well.

    Raises:
        FileError: the folder is not there, ``path`` is no file, or the renaming fails.
    """
    check_place(path)
    beside = path.with_name(f".{secrets.token_hex(6)}{path.suffix}")
    try:
        yield beside
        with told_plainly(path):
            beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


@contextmanager
def told_plainly(path: Path) -> Iterator[None]:
    """Turn what the system says about writing ``path`` into one FileError."""
    try:
        yield
    except OSError as error:
        meaning = MEANINGS.get(error.errno or 0, os.strerror(error.errno or errno.EIO))
        raise FileError(f"cannot write {path}: {meaning}") from error
