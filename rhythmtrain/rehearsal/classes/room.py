"""A teacher's class: everybody's recordings heard on all cores, as text, JSON, and pages.

Nothing of it goes into anybody's history: names and what was heard stay in the folder that the
teacher made.  A recording that cannot be heard is listed with a sentence and stops no other.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from rhythmtrain.errors import FileError, RhythmtrainError
from rhythmtrain.rehearsal.both_cores import on_all_cores
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.classes.student import StudentHeard, StudentJob, hear_student
from rhythmtrain.rehearsal.classes.wish import class_wish
from rhythmtrain.rehearsal.passages.passages import wished_passage
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.report.classes.page import class_page
from rhythmtrain.report.classes.text import class_json, class_text
from rhythmtrain.report.classes.view import ClassHeard
from rhythmtrain.report.lines import hanging
from rhythmtrain.storage.alone import first_in
from rhythmtrain.storage.class_folder import (
    CLASS_PAGE,
    NOTES_FILE,
    Student,
    begin_notes,
    read_notes,
    students_in,
)
from rhythmtrain.storage.folders import distinct, made_folder, safe_name
from rhythmtrain.storage.safely import write_bytes_safely

HEARING = "listening"
TAKEN = ("class",)
TAKEN_INTO = (
    "another rhythmtrain is writing the pages of a class into {} just now: wait until it has finished, "
    "or name another folder"
)


@dataclass(frozen=True, slots=True)
class OnPages:
    """What is written onto students' pages: the teacher's lines by name; ``words`` of ``check_page``."""

    notes: Mapping[str, str] = field(default_factory=dict)
    words: Callable[[str], str] = as_typed


PLAIN = OnPages()


def hear_class(
    folder: Path,
    passage: str | None = None,
    *,
    into: Path | None = None,
    typed: dict[str, Any] | None = None,
    progress: Progress = quietly,
) -> Told:
    """Return what was heard of everybody in ``folder``; writes pages ``into`` a folder where asked.

    ``typed`` are the options of ``check`` that were given.

    Raises:
        RequestError: no passage is named, or options that do not go together.
        FileError: nobody is in the folder, the pages cannot be written, or another program is
            writing pages there.
        DrillError: the passage does not read.
    """
    asked = class_wish(folder, passage, typed or {})
    title = wished_passage(asked.check).title
    aside = () if into is None else (into,)
    students = students_in(folder, beside=(*asked.beside, *aside))
    if into is None:
        return _told(
            hear_students(students, asked.check, title=title, into=None, progress=progress)
        )
    said: list[str] = []
    with first_in(made_folder(into), FileError(TAKEN_INTO.format(into))):
        pages = OnPages(_notes(into, students, said))
        heard = hear_students(
            students, asked.check, title=title, into=into, pages=pages, progress=progress
        )
        return _told(heard, into, tuple(said))


def hear_students(
    students: Sequence[Student],
    wish: CheckWish,
    *,
    title: str,
    into: Path | None,
    pages: OnPages = PLAIN,
    progress: Progress = quietly,
) -> ClassHeard:
    """Return what was heard of ``students``, and write a page for each ``into`` a folder.

    Whoever is told of progress may raise, and nobody more is heard.
    """
    jobs = [
        StudentJob(student, wish, page, pages.notes.get(student.name, ""), pages.words)
        for student, page in zip(students, _pages(students, into), strict=True)
    ]
    outcomes = on_all_cores(hear_student, jobs, progress, what=HEARING, hardy=True)
    heard = [_whatever(job, each) for job, each in zip(jobs, outcomes, strict=True)]
    return ClassHeard(
        title,
        tuple(each.row for each in heard if each.row is not None),
        tuple(each for one in heard for each in one.unheard),
        sum(each.recordings for each in heard),
    )


def _told(heard: ClassHeard, into: Path | None = None, said: tuple[str, ...] = ()) -> Told:
    text = class_text(heard)
    files: tuple[Path, ...] = ()
    if into is not None:
        files = (into / CLASS_PAGE, *(into / row.page for row in heard.rows))
        page = class_page(heard)
        write_bytes_safely(files[0], page.encode("utf-8", "replace"))
        text += "\n\n" + hanging(
            "",
            f"Pages written into {into}: open {files[0]}. Your own line for each student goes into "
            f"{into / NOTES_FILE}.",
            indent=0,
        )
    failure = "" if heard.rows else "no recording could be heard"
    return Told(text, class_json(heard), files, said, failure)


def _notes(into: Path, students: Sequence[Student], said: list[str]) -> dict[str, str]:
    """Return the teacher's lines; the file is begun where there is none and never written over."""
    names = [student.name for student in students]
    if begin_notes(into, names):
        return {}
    try:
        notes = read_notes(into)
    except FileError as error:
        said.append(f"your lines are not shown: {error}")
        return {}
    strange = [name for name in notes if name not in names]
    if strange:
        said.append(f"{NOTES_FILE} has a line for {strange[0]!r}, who is not in the folder")
    return notes


def _pages(students: Sequence[Student], into: Path | None) -> list[Path | None]:
    """Return where each student's page goes."""
    if into is None:
        return [None for _ in students]
    names = distinct((safe_name(student.name) for student in students), taken=TAKEN)
    return [into / f"{name}.html" for name in names]


def _whatever(job: StudentJob, outcome: StudentHeard | RhythmtrainError) -> StudentHeard:
    """Return what came of a student, also where nothing did."""
    if isinstance(outcome, RhythmtrainError):
        return StudentHeard(None, ((job.student.name, str(outcome)),), 0)
    return outcome
