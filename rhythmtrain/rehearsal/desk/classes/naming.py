"""What a teacher calls the students of a class at the page.

A student is known by the name under which the recordings came; what the teacher calls them instead
stands in ``class.json`` ("names"), and comes onto rows, pages and lines whenever these are shown or
taken away.  So recordings, pages and lines stay with a student who is renamed, nothing is heard
anew, and the same folder may be brought once more.
"""

from collections.abc import Collection, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.classes.shelf import LONGEST_NAME, about, keep_about, shown
from rhythmtrain.report.classes.view import ClassHeard, StudentRow
from rhythmtrain.storage.class_folder import CLASS_PAGE, in_order
from rhythmtrain.storage.folders import distinct, safe_name

NAMES, HTML = "names", ".html"
Document = dict[str, Any]


def names_in(folder: Path) -> dict[str, str]:
    """Return what students of a class are called instead of the name under which they came."""
    told = about(folder).get(NAMES)
    if not isinstance(told, dict):
        return {}
    return {came: name for came, name in told.items() if isinstance(name, str) and name}


def came_as(names: Mapping[str, str], name: str) -> str:
    """Return under which name the student came who is called ``name`` now."""
    if name in names:
        return name
    return next((came for came, now in names.items() if now == name), name)


def student_renamed(folder: Path, students: Collection[str], asked: Asked) -> Document:
    """Call the student "student" by "name" from now on; ``students`` are those of the class.

    ``students`` are the names under which they came.  The lock of the classes is held meanwhile.

    Raises:
        RequestError: no such student, no usable name, or one that another student has.
        FileError: it cannot be written.
    """
    names = names_in(folder)
    called = {names.get(came, came): came for came in students}
    now, name = asked.text("student"), shown(" ".join(asked.text("name").split()))
    if now not in called:
        raise RequestError(f"{now[:60]} is not in this class: look at it again")
    if not 0 < len(name) <= LONGEST_NAME:
        raise RequestError(f"a name has 1 to {LONGEST_NAME} letters, this one {len(name)}")
    taken = next((each for each in called if each.casefold() == name.casefold()), now)
    if taken != now:
        raise RequestError(f"there is {taken[:60]} in this class already: choose another name")
    kept = {came: each for came, each in names.items() if came != called[now]}
    if name != called[now]:
        kept[called[now]] = name
    keep_about(folder, about(folder) | {NAMES: kept})
    return {"student": name, "before": now}


def with_names(heard: ClassHeard, names: Mapping[str, str]) -> tuple[ClassHeard, dict[str, str]]:
    """Return a class with its students by what they are called now, and where each page lies.

    Where pages lie is told by what they are called now: a page is called after its student.
    """
    others = [row.page.removesuffix(HTML) for row in heard.rows if row.name not in names]
    taken = (*others, CLASS_PAGE.removesuffix(HTML))
    stems = distinct(map(safe_name, names.values()), taken=taken)
    pages = {came: f"{stem}{HTML}" for came, stem in zip(names, stems, strict=True)}
    rows = sorted(
        ((_named(row, names, pages), row.page) for row in heard.rows),
        key=lambda each: in_order(each[0].name),
    )
    return replace(heard, rows=tuple(row for row, _ in rows)), {
        row.page: page for row, page in rows
    }


def _named(row: StudentRow, names: Mapping[str, str], pages: Mapping[str, str]) -> StudentRow:
    page = pages.get(row.name, row.page) if row.page else ""
    return replace(row, name=names.get(row.name, row.name), page=page)
