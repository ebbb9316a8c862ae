"""The practice sheet of a pack: all its passages with their counts, on as few pages as they need.

A PDF where that can be made, else one HTML file, which every phone shows and prints.  A pack is not
held up by its paper: what cannot be drawn is said, and left out.
"""

from collections.abc import Iterable
from pathlib import Path

from rhythmtrain.devices.paper import pdf_of
from rhythmtrain.errors import DeviceError, DrillError, MissingPartError
from rhythmtrain.rehearsal.passages.sheet import drawn_pages
from rhythmtrain.report.sheets.measures import SheetLook
from rhythmtrain.report.sheets.mei import mei_of
from rhythmtrain.report.sheets.one_file import sheet_html
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.safely import write_bytes_safely

PDF, HTML = "sheet.pdf", "sheet.html"
SHEETS = (PDF, HTML)
LOOK = SheetLook(five=True)


def pack_sheet(
    passages: Iterable[tuple[str, Passage]], into: Path
) -> tuple[tuple[Path, ...], tuple[str, ...]]:
    """Write one sheet of all ``passages`` (source and music) into the folder ``into``.

    Returns:
        The file written, or none; and a sentence for each thing that was left out.

    Raises:
        FileError: the file cannot be written.
    """
    said: list[str] = []
    drawable = []
    for source, passage in passages:
        try:
            mei_of(passage, LOOK)
        except DrillError as error:
            said.append(f"{source} is not on the sheet: {error}")
        else:
            drawable.append(passage)
    if not drawable:
        return (), tuple(said)
    try:
        pages = drawn_pages(drawable, LOOK)
    except (MissingPartError, DeviceError) as error:
        return (), (*said, f"there is no practice sheet: {error}")
    title = " · ".join(passage.title for passage in drawable)
    try:
        name, data = PDF, pdf_of(pages, title)
    except MissingPartError as error:
        name, data = HTML, sheet_html(pages, title).encode("utf-8")
        said.append(f"the sheet is {HTML}: {error}")
    write_bytes_safely(into / name, data)
    for other in set(SHEETS) - {name}:
        (into / other).unlink(missing_ok=True)
    return (into / name,), tuple(said)
