"""What was heard of a class, told to the page: shown, with the teacher's lines, taken away."""

import json
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.classes.kept import HEARD, called_now, heard_of, page_kept
from rhythmtrain.rehearsal.desk.classes.naming import came_as, names_in
from rhythmtrain.rehearsal.desk.classes.recordings import brought
from rhythmtrain.rehearsal.desk.classes.shelf import about, read_document, shown
from rhythmtrain.report.classes.page import KEY, class_page
from rhythmtrain.report.classes.teacher_line import with_line
from rhythmtrain.report.classes.text import class_json
from rhythmtrain.storage.class_folder import (
    CLASS_PAGE,
    KEPT_HEAD,
    NOTES_FILE,
    keep_notes,
    notes_text,
    read_notes,
)

LONGEST_LINE = 500
TYPED = "Your own line for each student stands here and on the student\N{RIGHT SINGLE QUOTATION MARK}s page."
Document = dict[str, Any]


def class_told(folder: Path, hearing: Document | None) -> Document:
    """Return all that the page shows of the class in ``folder``."""
    known, names = about(folder), names_in(folder)
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
            {
                "recording": each.file,
                "student": names.get(each.student, each.student),
                "called": each.called,
            }
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
    came = came_as(names_in(folder), name)
    if came not in {row.name for row in heard_of(folder).rows}:
        raise RequestError(f"{name[:60]} is not in this class: look at it again")
    if len(line) > LONGEST_LINE:
        raise RequestError(
            f"a line has at most {LONGEST_LINE} letters, this one {len(line)}: shorten it"
        )
    keep_notes(folder, {**read_notes(folder), came: line})
    return {"student": name, "line": line}


def page_of(folder: Path, name: str) -> tuple[str, bool]:
    """Return the page ``name`` of a class with the teacher's lines, and whether it is a student's.

    Raises:
        RequestError: there is no such page.
        FileError: the class or its lines do not read.
    """
    heard, pages = called_now(folder)
    if name == CLASS_PAGE:
        return class_page(heard, lines=TYPED), False
    for row in heard.rows:
        if row.page == name:
            return with_line(page_kept(row, pages), row.note, written_there=False), True
    raise RequestError(f"there is no page {name[:80]!r} of this class: look at it again")


def class_zipped(folder: Path, path: Path) -> str:
    """Write everything that was heard of a class to the zip file ``path``; return its title.

    Raises:
        RequestError: nothing was heard yet.
        FileError: the class does not read.
    """
    heard, pages = called_now(folder)
    lines = {row.name: row.note for row in heard.rows}
    with ZipFile(path, "w", ZIP_DEFLATED) as file:
        file.writestr(CLASS_PAGE, class_page(heard, lines=TYPED))
        for row in heard.rows:
            file.writestr(row.page, with_line(page_kept(row, pages), row.note))
        file.writestr("class.json", json.dumps(class_json(heard), ensure_ascii=False, indent=1))
        file.writestr(NOTES_FILE, notes_text(lines, KEPT_HEAD))
    return str(about(folder)["title"])


def _heard_told(folder: Path) -> Document | None:
    told = read_document(folder / HEARD)
    if not told:
        return None
    heard, _ = called_now(folder)
    here = {each.file for each in brought(folder)}
    return class_json(heard) | {
        "heard_at": str(told.get("heard_at", "")),
        "changed": here != set(told.get("files", [])),
        "key": [list(each) for each in KEY],
        "right": {row.name: row.at_all for row in heard.rows},
    }
