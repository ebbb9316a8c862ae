"""Sheets at the page: one passage or several, as one file to print, to send, or to put into a text.

A picture holds one page of paper: a sheet of several becomes a zip file with a picture of each.
"""

import secrets
from pathlib import Path
from typing import Any
from zipfile import ZIP_STORED, ZipFile

from rhythmtrain.errors import DrillError, RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.handing.packs import ZIP, called_after, titles_of, told_by_title
from rhythmtrain.rehearsal.desk.made_file import Fetched
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting
from rhythmtrain.rehearsal.passages.sheet import SheetWish, make_sheet
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.storage.settings import preferences

SHEETS = {
    "pdf": "application/pdf",
    "html": "text/html",
    "png": "image/png",
    "svg": "image/svg+xml",
}
Document = dict[str, Any]


def sheet_made(sitting: Sitting, packs: Lately[Fetched], asked: Asked) -> Document:
    """Make one sheet of "passages", names of the shelf, in their order; "ending" is that of the file.

    "counting", "pitches" and "count_rests" say how it looks.

    Raises:
        RequestError: no passage, one that is not there, no such ending.
        DrillError, FileError: a passage does not read.
        MissingPartError, DeviceError: what draws is missing, or it failed.
    """
    titles = titles_of(sitting, asked)
    ending = asked.text("ending", "pdf")
    if ending not in SHEETS:
        raise RequestError(f"there is no sheet as {ending[:20]!r}: choose {', '.join(SHEETS)}")
    path = sitting.passing / f"{secrets.token_hex(8)}.{ending}"
    try:
        told, file = sheet_in_one(sheet_wish(tuple(titles), asked), path)
    except DrillError as error:
        raise DrillError(told_by_title(str(error), titles)) from error
    made = told.document["passages"]
    kind = SHEETS.get(file.suffix[1:], ZIP)
    return {
        "pack": packs.keep(Fetched(file, f"{called_after(made)}-sheet{file.suffix}", kind)),
        "titles": made,
        "failed": [],
        "said": [told_by_title(each, titles) for each in told.warnings],
    }


def sheet_wish(paths: tuple[str, ...], asked: Asked) -> SheetWish:
    """Return how a sheet of ``paths`` is to look: "pitches", "counting", "count_rests", "bars"."""
    return SheetWish(
        paths,
        bars=asked.maybe_text("bars"),
        staff="five" if asked.truth("pitches") else "one",
        counting=asked.text("counting", "numbers"),
        count_rests=asked.truth("count_rests"),
        british=preferences().british,
    )


def sheet_in_one(wish: SheetWish, path: Path) -> tuple[Told, Path]:
    """Make the sheet of ``wish`` as ``path``; return what is told of it, and the file it became.

    Pictures of several pages become one zip file beside ``path``, in place of them.
    """
    told = make_sheet(wish, path)
    if len(told.files) == 1:
        return told, path
    together = path.with_suffix(".zip")
    with ZipFile(together, "w", ZIP_STORED) as file:
        for number, page in enumerate(told.files, 1):
            file.write(page, f"page-{number}{page.suffix}")
            page.unlink()
    return told, together
