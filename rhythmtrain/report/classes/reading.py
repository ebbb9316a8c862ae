"""What was heard of a class, read back from its JSON document, to be shown as it was told.

The document may have been kept by another version; what does not read is said in one sentence.
"""

from typing import Any

from rhythmtrain.errors import FileError
from rhythmtrain.report.classes.view import Cell, ClassHeard, OtherTake, StudentRow

Document = dict[str, Any]


def class_of(document: Document) -> ClassHeard:
    """Return the class that ``document`` tells of, as ``class_json`` wrote it.

    Raises:
        FileError: it is not the document of a class.
    """
    try:
        return ClassHeard(
            str(document["passage"]),
            tuple(_row(each) for each in document["students"]),
            tuple((str(each["recording"]), str(each["why"])) for each in document["not_heard"]),
            int(document["recordings"]),
        )
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise FileError(
            "what was heard of this class was kept in another form: hear it again"
        ) from error


def _row(told: Document) -> StudentRow:
    return StudentRow(
        name=str(told["name"]),
        recording=str(told["recording"]),
        pace=str(told["pace"]),
        known=bool(told["looks_like_the_passage"]),
        complete=bool(told["complete"]),
        cells=tuple(
            Cell(int(each["bar"]), str(each["shape"]), str(each["words"])) for each in told["bars"]
        ),
        praise=str(told["praise"]),
        first=str(told["first"]),
        others=tuple(
            OtherTake(str(each["recording"]), str(each["words"])) for each in told["others"]
        ),
        note=str(told["note"]),
        page=str(told["page"]),
        instead=str(told.get("clapped_instead", "")),
    )
