"""What was heard of a class, kept whole and found again.

Pages are written into a folder of their own, and only then does ``heard.json`` name that folder: a
program that is killed in the middle leaves what was heard before.  What students are called and the
teacher's lines lie beside it, and come onto rows and pages whenever these are read.
"""

import json
import secrets
import shutil
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.classes.room import OnPages, hear_students
from rhythmtrain.rehearsal.desk.classes.naming import names_in, with_names
from rhythmtrain.rehearsal.desk.classes.recordings import brought
from rhythmtrain.rehearsal.desk.classes.shelf import read_document
from rhythmtrain.rehearsal.desk.page_words import at_the_page
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.report.classes.reading import class_of
from rhythmtrain.report.classes.teacher_line import with_lines, with_name
from rhythmtrain.report.classes.text import class_json
from rhythmtrain.report.classes.view import ClassHeard, StudentRow
from rhythmtrain.storage.class_folder import Student, read_notes
from rhythmtrain.storage.folders import made_folder
from rhythmtrain.storage.safely import write_bytes_safely

HEARD, PAGES = "heard.json", "pages-"


def hear_kept(
    folder: Path, students: Sequence[Student], wish: CheckWish, title: str, progress: Progress
) -> None:
    """Hear the class in ``folder``, and keep what was heard in place of what was there before.

    Raises:
        FileError: the pages cannot be written.
    """
    pages = made_folder(folder / f"{PAGES}{secrets.token_hex(4)}")
    try:
        said = OnPages(words=at_the_page)
        heard = hear_students(
            students, wish, title=title, into=pages, pages=said, progress=progress
        )
        files = [path.name for student in students for path in student.files]
        told = class_json(heard) | {
            "pages": pages.name,
            "files": files,
            "heard_at": datetime.now(UTC).isoformat(),
        }
        text = json.dumps(told, ensure_ascii=False, allow_nan=False)
        write_bytes_safely(folder / HEARD, text.encode("utf-8", "replace"))
    except BaseException:
        shutil.rmtree(pages, ignore_errors=True)
        raise
    for other in folder.glob(f"{PAGES}*"):
        if other != pages:
            shutil.rmtree(other, ignore_errors=True)


def names_that_came(folder: Path) -> set[str]:
    """Return under which names students came: whose recordings are here, or who was heard."""
    heard = read_document(folder / HEARD).get("students", ())
    names = {str(each["name"]) for each in heard if isinstance(each, dict) and "name" in each}
    return names | {each.student for each in brought(folder)}


def heard_of(folder: Path) -> ClassHeard:
    """Return what was heard of a class, by the names under which its students came.

    Raises:
        RequestError: nothing was heard yet.
        FileError: it was kept in another form.
    """
    return class_of(_told(folder))


def called_now(folder: Path) -> tuple[ClassHeard, dict[str, Path]]:
    """Return what was heard of a class with its students' names and lines, and where pages lie.

    Raises:
        RequestError, FileError: as for ``heard_of``, or the lines do not read.
    """
    told = _told(folder)
    lined = with_lines(class_of(told), read_notes(folder))
    named, places = with_names(lined, names_in(folder))
    pages = folder / Path(str(told.get("pages", ""))).name
    return named, {called: pages / page for called, page in places.items()}


def page_kept(row: StudentRow, pages: dict[str, Path]) -> str:
    """Return the page of a student as it was written, with the name that is theirs now.

    Raises:
        FileError: it is gone.
    """
    try:
        return with_name(pages[row.page].read_text("utf-8"), row.name)
    except OSError as error:
        raise FileError(f"{row.page} is gone: hear the class again") from error


def _told(folder: Path) -> dict[str, Any]:
    told = read_document(folder / HEARD)
    if not told:
        raise RequestError("this class was not heard yet: hear it first")
    return told
