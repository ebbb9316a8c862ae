"""One sitting at the local page: where its files lie, and the tracks that were made in it.

What a person keeps (passages, recordings, takes that are not finished) lies in the user's own
folder.  Tracks are made anew whenever they are wanted; the sound of the last few is kept in a
folder that goes when the program ends.
"""

import os
import secrets
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock
from typing import Generic, Self, TypeVar

from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.rehearsal.desk.journal import Journals
from rhythmtrain.storage.alone import Hold, held
from rhythmtrain.storage.folders import made_folder
from rhythmtrain.storage.places import user_folder

MOST_KEPT = 8
FOLDER = "page"
Thing = TypeVar("Thing")


class Lately(Generic[Thing]):
    """The last few things that were made, by a name that nobody guesses."""

    def __init__(
        self, what: str, most: int = MOST_KEPT, let_go: Callable[[Thing], None] | None = None
    ) -> None:
        """Begin with none; ``what`` they are is said where one is gone, ``let_go`` tidies up after it."""
        self._what, self._most, self._let_go = what, most, let_go
        self._things: OrderedDict[str, Thing] = OrderedDict()
        self._lock = Lock()

    def keep(self, thing: Thing) -> str:
        """Keep ``thing`` and return its name; the one that was not wanted for longest is let go."""
        name = self.fresh()
        with self._lock:
            self._things[name] = thing
            many = len(self._things) - self._most
            gone = [self._things.popitem(last=False)[1] for _ in range(many)]
        for each in gone:
            if self._let_go is not None:
                self._let_go(each)
        return name

    @staticmethod
    def fresh() -> str:
        """Return a name that nobody guesses."""
        return secrets.token_urlsafe(9)

    def get(self, name: str) -> Thing:
        """Return the thing called ``name``; RequestError where it was let go."""
        with self._lock:
            if name not in self._things:
                raise RequestError(f"{self._what} is gone: make it again")
            self._things.move_to_end(name)
            return self._things[name]


@dataclass(frozen=True, slots=True)
class Folders:
    """Where a sitting keeps what it keeps."""

    passages: Path
    takes: Path

    @property
    def recordings(self) -> Path:
        """Return where recordings lie: inside the folder of the passages that name them."""
        return self.passages / "recordings"


class Sitting:
    """Where the files of one sitting lie; use it in a ``with`` statement."""

    def __init__(self, home: Path | None = None) -> None:
        """Make the folders that are missing in ``home``, else in the user's own folder.

        Raises:
            FileError: nothing can be written there.
        """
        self._top = (home or user_folder()) / FOLDER
        self.folders = Folders(
            made_folder(self._top / "passages"), made_folder(self._top / "takes")
        )
        made_folder(self.folders.recordings)
        self.journals = Journals(self.folders.takes)
        self._passing = TemporaryDirectory(prefix="rhythmtrain-page-")
        self._hold: Hold | None = None

    def is_first(self) -> bool:
        """Return whether no other program that still runs had these folders before.

        Takes that were never ended are the first one's: of another they may be going on just now.
        """
        if self._hold is None:
            self._hold = held(self._top)
        return self._hold is not None

    @property
    def passing(self) -> Path:
        """Return the folder for what goes when the program ends."""
        return Path(self._passing.name)

    def said_here(self, sentence: str) -> str:
        """Return ``sentence`` without the folder in which the person's passages and recordings lie."""
        for folder in (self.folders.recordings, self.folders.passages):
            sentence = sentence.replace(f"{folder}{os.sep}", "")
        return sentence

    def close(self) -> None:
        """Remove what was only for this sitting, and let another be the first."""
        self._passing.cleanup()
        if self._hold is not None:
            self._hold.let_go()

    def __enter__(self) -> Self:
        """Return the sitting itself."""
        return self

    def __exit__(self, *_: object) -> None:
        """Close it."""
        self.close()


def told_as(error: RhythmtrainError, path: Path, called: Path) -> RhythmtrainError:
    """Return ``error`` about the file at ``path`` by the name that the person knows it by."""
    sentence = str(error).replace(str(path), path.name).replace(path.name, called.name[:80])
    return type(error)(sentence)
