"""A class in text and JSON: a row a student, then the recordings that could not be heard."""

from typing import Any

from rhythmtrain.report.classes.view import ClassHeard, StudentRow
from rhythmtrain.report.lines import hanging, table
from rhythmtrain.report.words import several


def class_text(heard: ClassHeard) -> str:
    """Return a class as text."""
    students, recordings = (
        several(len(heard.rows), "student"),
        several(heard.recordings, "recording"),
    )
    head = f"{heard.title}: {students}, {recordings} heard"
    said = [(row.name, _said(row)) for row in heard.rows]
    blocks = [hanging("", head, indent=0), table(said)]
    if heard.unheard:
        blocks.append("\n".join(["Could not be heard", table(heard.unheard)]))
    return "\n\n".join(block for block in blocks if block)


def class_json(heard: ClassHeard) -> dict[str, Any]:
    """Return a class as a JSON document."""
    return {
        "passage": heard.title,
        "students": [_student(row) for row in heard.rows],
        "not_heard": [{"recording": name, "why": why} for name, why in heard.unheard],
        "recordings": heard.recordings,
    }


def _said(row: StudentRow) -> str:
    """Return one student in words: how much, how fast, what to do first, the other recordings."""
    others = f" ({several(len(row.others), 'other recording')})" if row.others else ""
    return f"{row.at_all}, {row.pace}{others}. {row.first}"


def _student(row: StudentRow) -> dict[str, Any]:
    return {
        "name": row.name,
        "recording": row.recording,
        "pace": row.pace,
        "looks_like_the_passage": row.known,
        "complete": row.complete,
        "bars": [{"bar": cell.bar, "shape": cell.shape, "words": cell.words} for cell in row.cells],
        "praise": row.praise,
        "first": row.first,
        "others": [{"recording": each.name, "words": each.words} for each in row.others],
        "note": row.note,
        "page": row.page,
        "clapped_instead": row.instead,
    }
