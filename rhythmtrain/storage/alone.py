"""Being alone with a folder: what two programs must not do to the same files at once.

Whoever holds a folder has it until it is let go, or until the program ends: what a killed program
held is given back by the system.  Threads of one program wait for each other like programs.  Where
a disk knows no locks (some network drives), everybody has what is asked for at once.
"""

import os
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from rhythmtrain.errors import FileError, RhythmtrainError
from rhythmtrain.storage.safely import told_plainly

PATIENCE_S = 60.0
AGAIN_S = 0.002
# Where a folder cannot be locked itself, this file in it is.
IN_USE = ".in-use"


class Hold:
    """A folder that is held; nobody else has it until it is let go."""

    def __init__(self, opened: int) -> None:
        """Hold by the open file ``opened``."""
        self._opened: int | None = opened

    def let_go(self) -> None:
        """Let the next one have it."""
        opened, self._opened = self._opened, None
        if opened is not None:
            # A child that was begun meanwhile may have the file open still: it holds nothing.
            with suppress(OSError):
                _give_back(opened)
            os.close(opened)


def held(folder: Path) -> Hold | None:
    """Return a hold on ``folder``, None where somebody else has it just now.

    Raises:
        FileError: the folder is not there, or may not be read.
    """
    with told_plainly(folder):
        opened = _opened(folder)
        try:
            _take(opened)
        except (BlockingIOError, PermissionError):
            os.close(opened)
            return None
        except OSError:
            return Hold(opened)
        return Hold(opened)


@contextmanager
def alone_in(folder: Path, patience_s: float = PATIENCE_S) -> Iterator[None]:
    """Be the only one who changes what lies in ``folder``; others wait, as this one does.

    Raises:
        FileError: the folder is not there, or somebody else has it for ``patience_s`` and longer.
    """
    until = time.monotonic() + patience_s
    while (hold := held(folder)) is None:
        if time.monotonic() >= until:
            raise FileError(
                f"another rhythmtrain has been changing {folder} for {patience_s:g} s: wait until it "
                "has finished"
            )
        time.sleep(AGAIN_S)
    try:
        yield
    finally:
        hold.let_go()


@contextmanager
def first_in(folder: Path, taken: RhythmtrainError) -> Iterator[None]:
    """Be the only one who does what takes long in ``folder``; raise ``taken`` where one does it.

    Raises:
        FileError: the folder is not there, or may not be read.
    """
    hold = held(folder)
    if hold is None:
        raise taken
    try:
        yield
    finally:
        hold.let_go()


if sys.platform == "win32":
    import msvcrt

    def _opened(folder: Path) -> int:
        return os.open(folder / IN_USE, os.O_RDWR | os.O_CREAT)

    def _take(opened: int) -> None:
        msvcrt.locking(opened, msvcrt.LK_NBLCK, 1)

    def _give_back(opened: int) -> None:
        msvcrt.locking(opened, msvcrt.LK_UNLCK, 1)

else:
    import fcntl

    def _opened(folder: Path) -> int:
        return os.open(folder, os.O_RDONLY)

    def _take(opened: int) -> None:
        fcntl.flock(opened, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def _give_back(opened: int) -> None:
        fcntl.flock(opened, fcntl.LOCK_UN)
