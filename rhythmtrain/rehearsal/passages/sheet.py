"""Practice sheets: passages engraved with their counts, on paper or on a page."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path

from rhythmtrain.devices.engraver import ON_PAPER, engrave
from rhythmtrain.devices.paper import DOTS_AN_INCH, pdf_of, png_of
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.sheets.hard import hard_lane, hard_words
from rhythmtrain.report.sheets.measures import SheetLook
from rhythmtrain.report.sheets.mei import line_needed, mei_of
from rhythmtrain.report.sheets.one_file import sheet_html
from rhythmtrain.report.sheets.page import FONT, Engraved, sheet_pages
from rhythmtrain.report.sheets.papers import A4, PAPERS, Paper
from rhythmtrain.report.sheets.svg import drawing_of
from rhythmtrain.report.words import several
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.safely import check_place, write_bytes_safely

ENDINGS = (".svg", ".pdf", ".html", ".png")


@dataclass(frozen=True, slots=True)
class SheetWish:
    """What a sheet is to hold and how it is to look: options as typed."""

    passages: tuple[str, ...]
    bars: str | None = None
    part: str | None = None
    cue_part: str | None = None
    staff: str = "one"
    counting: str = "numbers"
    count_rests: bool = False
    british: bool = False
    paper: str = "a4"

    @property
    def look(self) -> SheetLook:
        """Return how the notes are to be drawn."""
        return SheetLook(
            five=self.staff == "five",
            counting=self.counting,
            rests=self.count_rests,
            british=self.british,
            player=self.cue_part if self.cue_part and not self.cue_part.isdigit() else "piano",
        )


def make_sheet(wish: SheetWish, output: Path) -> Told:
    """Write the sheet that ``wish`` asks for to ``output`` and return what was written.

    A sheet of several pages is one file as PDF or HTML, and numbered files as SVG or PNG.

    Raises:
        RequestError: an ending that is not known, bars or a part that do not exist.
        DrillError, FileError: a passage does not read, the file cannot be written.
        MissingPartError, DeviceError: what draws is missing, or it failed.
    """
    check_sheet(output)
    said: list[str] = []
    paper = PAPERS[wish.paper]
    passages = [
        find_passage(name, wish.bars, part=wish.part, cue_part=wish.cue_part, say=said.append)
        for name in wish.passages
    ]
    pages = drawn_pages(passages, wish.look, paper)
    title = " · ".join(passage.title for passage in passages)
    files = write_pages(pages, title, output, paper)
    named = ", ".join(str(file) for file in files)
    text = f"wrote {named}: {several(len(passages), 'passage')} on {several(len(pages), 'page')}"
    document = {
        "paths": [str(file) for file in files],
        "pages": len(pages),
        "passages": [passage.title for passage in passages],
    }
    return Told(text, document, files=files, warnings=tuple(said))


def check_sheet(output: Path) -> None:
    """Refuse a file that no sheet can be written to.

    Raises:
        RequestError: an ending that is not known.
        FileError: a folder that is not there, or cannot be written into.
    """
    if output.suffix.lower() not in ENDINGS:
        raise RequestError(f"a sheet ends in {', '.join(ENDINGS)}, got {output.name!r}")
    check_place(output)


def plot_passage(passage: Passage, output: Path, *, british: bool = False) -> tuple[Path, ...]:
    """Write the sheet of ``passage`` with its hard bars marked, and return the files.

    Raises:
        DrillError: a bar that cannot be drawn.
        FileError: the file cannot be written.
        MissingPartError, DeviceError: what draws is missing, or it failed.
    """
    look = SheetLook(five=True, british=british)
    (drawn,) = _engraved([passage], look)
    marked = replace(
        drawn,
        lanes=tuple(hard_lane(passage, system, FONT) for system in drawn.systems),
        above_words="Where it is hard",
        words=hard_words(passage, british=british),
    )
    return write_pages(sheet_pages([marked]), passage.title, output)


def sheet_svg(passage: Passage, look: SheetLook | None = None) -> tuple[str, ...]:
    """Return the pages of a sheet with one passage as SVG.

    Raises:
        MissingPartError, DeviceError: the engraver is missing, or it failed.
    """
    return drawn_pages([passage], look or SheetLook())


def drawn_pages(passages: Sequence[Passage], look: SheetLook, paper: Paper = A4) -> tuple[str, ...]:
    """Return the pages of a sheet of ``passages`` on ``paper`` as SVG.

    Raises:
        DrillError: a bar that cannot be drawn.
        MissingPartError, DeviceError: the engraver is missing, or it failed.
    """
    return sheet_pages(_engraved(passages, look), paper)


def _engraved(passages: Sequence[Passage], look: SheetLook) -> tuple[Engraved, ...]:
    """Return the passages engraved; one with a bar too full for a line is drawn smaller, all of it."""
    widths = [max(ON_PAPER, ceil(line_needed(passage, look))) for passage in passages]
    drawn = engrave([mei_of(passage, look) for passage in passages], widths=widths)
    return tuple(
        Engraved(
            passage.title,
            tuple(replace(drawing_of(system), scale=ON_PAPER / width) for system in systems),
        )
        for passage, width, systems in zip(passages, widths, drawn, strict=True)
    )


def write_pages(
    pages: tuple[str, ...], title: str, output: Path, paper: Paper = A4
) -> tuple[Path, ...]:
    """Write pages to one file, or to numbered ones where the kind holds one page; return them."""
    ending = output.suffix.lower()
    if ending == ".pdf":
        contents = [pdf_of(pages, title)]
    elif ending == ".html":
        contents = [sheet_html(pages, title, paper).encode("utf-8")]
    elif ending == ".png":
        contents = [png_of(page, paper.pixels(DOTS_AN_INCH)) for page in pages]
    else:
        contents = [page.encode("utf-8") for page in pages]
    files = [output] if len(contents) == 1 else _numbered(output, len(contents))
    for file, content in zip(files, contents, strict=True):
        write_bytes_safely(file, content)
    return tuple(files)


def _numbered(output: Path, many: int) -> list[Path]:
    """Return "sheet-1.svg", "sheet-2.svg" … for "sheet.svg"."""
    return [output.with_stem(f"{output.stem}-{number}") for number in range(1, many + 1)]
