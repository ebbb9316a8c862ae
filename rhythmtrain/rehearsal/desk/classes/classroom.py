"""A class at the page: what one asks of it, from the first recording to the pages one takes away."""

import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.check_wishes import check_wish_of
from rhythmtrain.rehearsal.desk.classes.arriving import MOST_BYTES, MOST_RECORDINGS, Arriving
from rhythmtrain.rehearsal.desk.classes.hearing import Hearings
from rhythmtrain.rehearsal.desk.classes.kept import hear_kept, names_that_came
from rhythmtrain.rehearsal.desk.classes.naming import student_renamed
from rhythmtrain.rehearsal.desk.classes.recordings import recording_gone, students_of, swept
from rhythmtrain.rehearsal.desk.classes.shelf import (
    Classes,
    about,
    class_gone,
    class_made,
    keep_about,
    to_hear,
)
from rhythmtrain.rehearsal.desk.classes.telling import (
    class_in_short,
    class_told,
    class_zipped,
    line_kept,
    page_of,
)
from rhythmtrain.rehearsal.desk.classes.wishes import title_of, wishes_said
from rhythmtrain.rehearsal.desk.made_file import Fetched
from rhythmtrain.rehearsal.desk.shelf import plain_stem
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.storage.class_folder import TAKES

CLASSES = "classes"
ZIP = "application/zip"
LEFT_BEHIND_S = 3600.0
NOBODY = "there is no recording in this class: bring a folder or files first"
HEARD_ELSEWHERE = "this class is being heard just now by another rhythmtrain that is open: wait until it is done there"
Document = dict[str, Any]


class Classroom:
    """All classes of one sitting; close it when the sitting ends."""

    def __init__(self, sitting: Sitting) -> None:
        """Keep classes beside the passages and takes of ``sitting``."""
        self._sitting = sitting
        self._classes = Classes(sitting.folders.passages.parent / CLASSES)
        self.hearings = Hearings()

    def close(self) -> None:
        """Leave off whatever is heard."""
        self.hearings.close()

    def listed(self) -> Document:
        """Return every class in short, and what a class can hold."""
        return {
            "classes": [class_in_short(folder) for folder in self._classes.all()],
            "endings": sorted(TAKES),
            "most_recordings": MOST_RECORDINGS,
            "most_bytes": MOST_BYTES,
        }

    def made(self, asked: Asked) -> Document:
        """Make a class; as ``class_made``."""
        return class_made(self._classes, asked)

    def shown(self, asked: Asked) -> Document:
        """Return all of the class "class"."""
        folder = self._folder(asked)
        return class_told(folder, self.hearings.told(folder.name))

    def arriving(self, asked: Asked) -> Arriving:
        """Return where the bytes of the recording "called" of the class "class" are to go."""
        with self._unheard(asked) as folder:
            return Arriving(self._classes, folder, asked.text("called"))

    def left_out(self, asked: Asked) -> Document:
        """Take the recording "recording" of the class "class" away for good."""
        with self._unheard(asked) as folder:
            return recording_gone(folder, asked.text("recording"))

    def gone(self, asked: Asked) -> Document:
        """Take the class "class" away for good."""
        with self._unheard(asked) as folder:
            return class_gone(self._classes, folder)

    def heard(self, asked: Asked) -> Document:
        """Begin to hear the class "class" as was chosen; ``state`` tells how far it is.

        Raises:
            RequestError: nobody is in it, it is heard already, or it cannot be heard so.
            DrillError, FileError, TakeError: the passage or what belongs to it does not read.
        """
        with self._unheard(asked) as folder:
            wish = check_wish_of(self._sitting, asked)
            title = title_of(wish)
            swept(folder, time.time() - LEFT_BEHIND_S)
            students = students_of(folder)
            if not students:
                raise RequestError(NOBODY)
            keep_about(folder, about(folder) | {"asked": wishes_said(asked)})

            def work(progress: Progress) -> None:
                hear_kept(folder, students, wish, title, progress)

            return self.hearings.begin(folder.name, len(students), work, to_hear(folder))

    def state(self, asked: Asked) -> Document:
        """Return how far the hearing of the class "class" is."""
        return {"hearing": self.hearings.told(self._folder(asked).name)}

    def stopped(self, asked: Asked) -> Document:
        """Leave off hearing the class "class"."""
        return {"hearing": self.hearings.stop(self._folder(asked).name)}

    def line(self, asked: Asked) -> Document:
        """Keep the teacher's line for a student of the class "class"; as ``line_kept``."""
        folder = self._folder(asked)
        with self._classes.alone():
            return line_kept(folder, asked)

    def renamed(self, asked: Asked) -> Document:
        """Call a student of the class "class" by another name; as ``student_renamed``."""
        folder = self._folder(asked)
        with self._classes.alone():
            return student_renamed(folder, names_that_came(folder), asked)

    def page(self, asked: Asked) -> tuple[str, bool]:
        """Return the page "page" of the class "class", and whether it is a student's."""
        return page_of(self._folder(asked), asked.text("page"))

    def zipped(self, asked: Asked) -> Fetched:
        """Return everything that was heard of the class "class" as one file."""
        path = self._sitting.passing / f"{secrets.token_hex(8)}.zip"
        title = class_zipped(self._folder(asked), path)
        return Fetched(path, f"{plain_stem(title)}-class.zip", ZIP)

    def _folder(self, asked: Asked) -> Path:
        return self._classes.folder(asked.text("class"))

    @contextmanager
    def _unheard(self, asked: Asked) -> Iterator[Path]:
        """Give the folder of the class "class", which nobody hears, nor changes meanwhile."""
        with self._classes.alone():
            folder = self._folder(asked)
            self.hearings.check_free(folder.name)
            nobody = to_hear(folder)
            if nobody is None:
                raise RequestError(HEARD_ELSEWHERE)
            nobody.let_go()
            yield folder
