"""A class read back as it was told, and the teacher's line on pages that were written before."""

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.report.classes.reading import class_of
from rhythmtrain.report.classes.teacher_line import with_line, with_lines
from rhythmtrain.report.classes.text import class_json
from rhythmtrain.report.classes.view import Cell, ClassHeard, OtherTake, StudentRow
from rhythmtrain.report.take.advice import advice
from rhythmtrain.report.take.page import Section, check_page
from tests.simulate.heard import Amiss, heard_of, passage_of

ROW = StudentRow(
    "Zo\u00eb", "Zo\u00eb/one.m4a", "at quarter = 60", known=True, complete=False,
    cells=(Cell(0, "\u00b7", "right"), Cell(1, "", "not played")), praise="Even.", first="Bar 1.",
    others=(OtherTake("Zo\u00eb/two.m4a", "Bar 2."),), note="See me.", page="Zo\u00eb.html",
)  # fmt: skip
CLASS = ClassHeard("Rag", (ROW,), (("Anna.wav", "it is empty"),), 2)


def written(line: str) -> str:
    """Return a student's page with a teacher's line."""
    heard, _ = heard_of(passage_of("1 2 | 1 & 2"), Amiss())
    return check_page(
        [Section(heard, advice(heard, name="rag.toml"), "one.m4a", "", teacher=line)], title="Anna"
    )


def test_a_class_is_read_back_as_it_was_told() -> None:
    """A teacher who comes back next week sees what was heard."""
    assert class_of(class_json(CLASS)) == CLASS


@pytest.mark.parametrize(
    "document", [{}, {"passage": "Rag", "students": 3}, {**class_json(CLASS), "students": [{}]}]
)
def test_a_class_that_was_kept_otherwise_is_to_be_heard_again(document: dict[str, object]) -> None:
    """One sentence with the remedy, and no traceback."""
    with pytest.raises(FileError, match="hear it again"):
        class_of(document)


@pytest.mark.parametrize("before", ["", "Another line."])
@pytest.mark.parametrize("line", ["Bar 2 with <Clara> & me.", "", r"\1 \g<0>"])
def test_a_line_comes_onto_a_page_as_if_it_was_written_with_it(before: str, line: str) -> None:
    """Byte for byte the page that would have been written."""
    assert with_line(written(before), line) == written(line)


def test_a_line_that_is_typed_elsewhere_cannot_be_typed_into_the_page() -> None:
    """Nobody types a line that is then lost."""
    shown = with_line(written(""), "Well done.", written_there=False)
    assert "Well done." in shown
    assert "contenteditable" in written("")
    assert "contenteditable" not in shown
    assert "write here" not in with_line(written(""), "", written_there=False)


def test_lines_go_to_the_students_of_their_names() -> None:
    """And a line that was taken back is gone."""
    assert with_lines(CLASS, {"Zo\u00eb": "Slower.", "Anna": "?"}).rows[0].note == "Slower."
    assert with_lines(CLASS, {}).rows[0].note == ""
