"""One student of a class: every recording heard, the one that went best told of.

This runs in a process of its own core, and hands back a few words: neither sound nor pictures are
kept, so a class of hundreds needs no more memory than a few.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from rhythmtrain.errors import RhythmtrainError
from rhythmtrain.rehearsal.checking.check import CheckWish, check
from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.report.classes.view import Cell, OtherTake, StudentRow, cells_of, said_of
from rhythmtrain.report.take.instead_told import row_in_words
from rhythmtrain.report.take.page import check_page
from rhythmtrain.report.take.text import pace_told
from rhythmtrain.storage.class_folder import Student, spelt
from rhythmtrain.storage.safely import write_bytes_safely

NO_RECORDING = "there is no recording in this folder"


@dataclass(frozen=True, slots=True)
class StudentJob:
    """A student to be heard in another process; ``page`` is where the page goes, None for none.

    ``words`` are those of ``check_page``, and travel with it: a function of a module.
    """

    student: Student
    wish: CheckWish
    page: Path | None = None
    note: str = ""
    words: Callable[[str], str] = as_typed


@dataclass(frozen=True, slots=True)
class StudentHeard:
    """What came of a student: a row, None where no recording could be heard, and what failed.

    ``unheard`` are (recording, why), ``recordings`` how many were heard.
    """

    row: StudentRow | None
    unheard: tuple[tuple[str, str], ...]
    recordings: int


def hear_student(job: StudentJob, progress: Progress) -> StudentHeard:
    """Hear all recordings of a student, write the page, and return what is told of them.

    Raises:
        FileError: the page cannot be written.
    """
    best: Checked | None = None
    best_path = Path()
    called = dict(zip(job.student.files, job.student.called, strict=True))
    unheard: list[tuple[str, str]] = []
    said: dict[Path, str] = {}
    for path in job.student.files:
        try:
            checked = check(path, job.wish, progress=progress)
        except RhythmtrainError as error:
            unheard.append((called[path], _plain(job.words(str(error)), path, called[path])))
            continue
        first = job.words(checked.said.first)
        checked = replace(checked, said=replace(checked.said, first=first))
        said[path] = first
        if best is None or _rank(checked) >= _rank(best):
            best, best_path = checked, path
    if not job.student.files:
        unheard.append((job.student.name, NO_RECORDING))
    if best is None:
        return StudentHeard(None, tuple(unheard), 0)
    others = tuple(
        OtherTake(called[path], first) for path, first in said.items() if path != best_path
    )
    cells = cells_of(best.heard)
    best = replace(best, said=said_of(best.heard, best.said, cells))
    row = _row(job, best, called[best_path], cells, others)
    if job.page is not None:
        _write_page(job, job.page, (best, best_path), row)
    return StudentHeard(row, tuple(unheard), len(said))


def _rank(checked: Checked) -> tuple[bool, bool, int]:
    """Return how well a take went: the right piece, all of it, and how little was amiss."""
    findings = checked.findings
    whole = any(each.complete for each in findings.tries)
    tally = findings.tally
    amiss = len(checked.heard.flags) + len(findings.mistakes) + tally.extra
    return findings.looks_like is not False, whole, tally.matched - tally.missed - amiss


def _row(
    job: StudentJob,
    best: Checked,
    recording: str,
    cells: tuple[Cell, ...],
    others: tuple[OtherTake, ...],
) -> StudentRow:
    findings = best.findings
    return StudentRow(
        job.student.name,
        recording,
        pace_told(best.heard),
        findings.looks_like is not False,
        any(each.complete for each in findings.tries),
        cells,
        best.said.praise,
        best.said.first,
        others,
        job.note,
        "" if job.page is None else job.page.name,
        _instead(best),
    )


def _instead(best: Checked) -> str:
    instead = best.findings.instead
    return row_in_words(instead.row, best.timeline.passage.metre) if instead is not None else ""


def _write_page(job: StudentJob, output: Path, told: tuple[Checked, Path], row: StudentRow) -> None:
    from rhythmtrain.rehearsal.checking.report_page import section  # noqa: PLC0415  (loads the picture)

    others = tuple((each.name, each.words) for each in row.others)
    part = replace(section(*told), take=row.recording, others=others, teacher=row.note)
    if Path(job.wish.passage).name != job.wish.passage:
        # It lies in a folder of the teacher's: what one types there means nothing to a student.
        part = replace(part, said=replace(part.said, command=""))
    page = check_page([part], title=row.name, words=job.words)
    write_bytes_safely(output, page.encode("utf-8", "replace"))


def _plain(words: str, path: Path, called: str) -> str:
    """Return why a recording could not be heard, without where its file lies."""
    name = called.rpartition("/")[2]
    return spelt(words.replace(f"{path}: ", "").replace(str(path), name).replace(path.name, name))
