"""What was heard of a class, at the page: kept whole, shown, with the teacher's lines, taken away.

Pages are written into a folder of their own, and only then does ``heard.json`` name that folder: a
program that is killed in the middle leaves what was heard before.  The teacher's lines lie beside
it in ``notes.toml`` and come onto the pages whenever these are shown or taken away.
"""

import json
import secrets
import shutil
from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.classes.room import hear_students
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.classes.recordings import brought
from rhythmtrain.rehearsal.desk.classes.shelf import about, read_document, shown
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.report.classes.page import KEY, class_page
from rhythmtrain.report.classes.reading import class_of
from rhythmtrain.report.classes.teacher_line import with_line, with_lines
from rhythmtrain.report.classes.text import class_json
from rhythmtrain.report.classes.view import ClassHeard
from rhythmtrain.storage.class_folder import (
    CLASS_PAGE,
    KEPT_HEAD,
    NOTES_FILE,
    Student,
    keep_notes,
    notes_text,
    read_notes,
)
from rhythmtrain.storage.folders import made_folder
from rhythmtrain.storage.safely import write_bytes_safely

HEARD, PAGES = "heard.json", "pages-"
LONGEST_LINE = 500
TYPED = "Your own line for each student stands here and on the student\N{RIGHT SINGLE QUOTATION MARK}s page."
Document = dict[str, Any]


def hear_kept(
    folder: Path, students: Sequence[Student], wish: CheckWish, title: str, progress: Progress
) -> None:
    """Hear the class in ``folder``, and keep what was heard in place of what was there before.

    Raises:
        FileError: the pages cannot be written.
    """
    pages = made_folder(folder / f"{PAGES}{secrets.token_hex(4)}")
    try:
        heard = hear_students(students, wish, title=title, into=pages, progress=progress)
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


def class_told(folder: Path, hearing: Document | None) -> Document:
    """Return all that the page shows of the class in ``folder``."""
    known = about(folder)
    told, trouble = None, ""
    try:
        told = _heard_told(folder)
    except FileError as error:
        trouble = str(error)
    return {
        "class": folder.name,
        "title": known["title"],
        "asked": known["asked"],
        "recordings": [
            {"recording": each.file, "student": each.student, "called": each.called}
            for each in brought(folder)
        ],
        "hearing": hearing,
        "heard": told,
        "trouble": trouble,
    }


def class_in_short(folder: Path) -> Document:
    """Return one class as it stands in the list of all."""
    here = brought(folder)
    told = read_document(folder / HEARD)
    return {
        "class": folder.name,
        "title": about(folder)["title"],
        "passage": told.get("passage", ""),
        "students": len({each.student for each in here}),
        "recordings": len(here),
        "heard_at": told.get("heard_at", ""),
    }


def line_kept(folder: Path, asked: Asked) -> Document:
    """Keep the teacher's "line" for the student "student", "" to take it back.

    Raises:
        RequestError: no such student, or a line that is too long.
        FileError: it cannot be written.
    """
    name, line = asked.text("student"), shown(" ".join(asked.text("line").split()))
    heard, _ = _kept(folder)
    if name not in {row.name for row in heard.rows}:
        raise RequestError(f"{name[:60]} is not in this class: look at it again")
    if len(line) > LONGEST_LINE:
        raise RequestError(
            f"a line has at most {LONGEST_LINE} letters, this one {len(line)}: shorten it"
        )
    keep_notes(folder, {**read_notes(folder), name: line})
    return {"student": name, "line": line}


def page_of(folder: Path, name: str) -> tuple[str, bool]:
    """Return the page ``name`` of a class with the teacher's lines, and whether it is a student's.

    Raises:
        RequestError: there is no such page.
        FileError: the class or its lines do not read.
    """
    heard, pages = _kept(folder)
    lines = read_notes(folder)
    if name == CLASS_PAGE:
        return class_page(with_lines(heard, lines), lines=TYPED), False
    for row in heard.rows:
        if row.page == name:
            line = lines.get(row.name, "")
            return with_line(_text(pages / name), line, written_there=False), True
    raise RequestError(f"there is no page {name[:80]!r} of this class: look at it again")


def class_zipped(folder: Path, path: Path) -> str:
    """Write everything that was heard of a class to the zip file ``path``; return its title.

    Raises:
        RequestError: nothing was heard yet.
        FileError: the class does not read.
    """
    heard, pages = _kept(folder)
    lines = read_notes(folder)
    told = class_json(with_lines(heard, lines))
    names = {row.name: lines.get(row.name, "") for row in heard.rows}
    with ZipFile(path, "w", ZIP_DEFLATED) as file:
        file.writestr(CLASS_PAGE, class_page(with_lines(heard, lines), lines=TYPED))
        for row in heard.rows:
            file.writestr(row.page, with_line(_text(pages / row.page), lines.get(row.name, "")))
        file.writestr("class.json", json.dumps(told, ensure_ascii=False, indent=1))
        file.writestr(NOTES_FILE, notes_text(names, KEPT_HEAD))
    return str(about(folder)["title"])


def _heard_told(folder: Path) -> Document | None:
    told = read_document(folder / HEARD)
    if not told:
        return None
    heard = with_lines(class_of(told), read_notes(folder))
    here = {each.file for each in brought(folder)}
    return class_json(heard) | {
        "heard_at": str(told.get("heard_at", "")),
        "changed": here != set(told.get("files", [])),
        "key": [list(each) for each in KEY],
        "right": {row.name: row.at_all for row in heard.rows},
    }


def _kept(folder: Path) -> tuple[ClassHeard, Path]:
    """Return what was heard of a class, and the folder with its pages."""
    told = read_document(folder / HEARD)
    if not told:
        raise RequestError("this class was not heard yet: hear it first")
    return class_of(told), folder / Path(str(told.get("pages", ""))).name


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8")
    except OSError as error:
        raise FileError(f"{path.name} is gone: hear the class again") from error
