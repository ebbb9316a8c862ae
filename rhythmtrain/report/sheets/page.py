"""Pages of a practice sheet: titles, systems one under the other, and room for a pencil.

Lengths are tenths of a millimetre.  A passage begins on a page only where
its title and first system fit together; long passages go on overleaf.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from html import escape
from itertools import zip_longest
from textwrap import wrap

from rhythmtrain.report.sheets.papers import A4, Paper
from rhythmtrain.report.sheets.svg import Drawing

TOP = 125
FOOT = 120
TITLE_ROOM = 110
TITLE_SIZE = 58
TITLE_LINE = 66
TITLE_LETTERS = 58  # in bold letters of that size, between the margins
MOST_TITLE_LINES = 3
PENCIL_ROOM = 90  # under every system: one line of handwriting
BETWEEN = 60
LINE, WORDS_SIZE = 48, 38
FEWEST_LINES = 3
FONT = "Times, 'Liberation Serif', serif"

_OUTER = re.compile(r"<svg[^>]*>")
_IDS = re.compile(r' id="(?!E[0-9A-F]{3}-)[^"]*"')
_GLYPHS = re.compile(r'(id="|href="#)(E[0-9A-F]{3})-\w+"')


@dataclass(frozen=True, slots=True)
class Engraved:
    """One passage engraved: its title and its systems from top to bottom.

    ``lanes`` is what stands under each system where the pencil's room is, as wide as it is shown;
    ``words`` are lines that follow the last one under the heading ``above_words``.
    """

    title: str
    systems: tuple[Drawing, ...]
    lanes: tuple[str, ...] = ()
    above_words: str = ""
    words: tuple[str, ...] = ()


@dataclass(slots=True)
class _Pages:
    """The pages as far as they are filled, and where the last one goes on."""

    paper: Paper
    pages: list[list[str]] = field(default_factory=lambda: [[]])
    top: float = TOP
    systems: int = 0

    def make_room(self, height: float) -> None:
        """Begin a page where ``height`` does not fit on this one any more."""
        if self.pages[-1] and self.top + height > self.paper.height - FOOT:
            self.pages.append([])
            self.top = TOP

    def put(self, drawn: str, height: float = 0) -> None:
        """Put something down, and go on ``height`` below."""
        self.pages[-1].append(drawn)
        self.top += round(height)


def sheet_pages(passages: Iterable[Engraved], paper: Paper = A4) -> tuple[str, ...]:
    """Return the pages of a sheet on ``paper`` as SVG, in order."""
    pages = _Pages(paper)
    for passage in passages:
        _put_systems(pages, passage)
        _put_words(pages, passage)
        pages.top += BETWEEN
    many = len(pages.pages)
    return tuple(
        "".join(_page_parts(paper, parts, place, many))
        for place, parts in enumerate(pages.pages, 1)
    )


def _put_systems(pages: _Pages, passage: Engraved) -> None:
    title = wrap(passage.title, TITLE_LETTERS, max_lines=MOST_TITLE_LINES, placeholder=" …")
    for place, (system, lane) in enumerate(zip_longest(passage.systems, passage.lanes)):
        above = 0 if place else TITLE_ROOM + TITLE_LINE * (len(title) - 1)
        height = system.height * system.scale
        pages.make_room(above + height + PENCIL_ROOM)
        if above:
            for number, line in enumerate(title):
                pages.put(_title(line, pages.paper.margin, pages.top + number * TITLE_LINE))
        pages.systems += 1
        top = pages.top + above
        pages.put(_placed(system, (pages.paper.margin, top), f"s{pages.systems}"), above + height)
        below = (
            f'<g transform="translate({pages.paper.margin}, {pages.top:g})">{lane}</g>'
            if lane
            else ""
        )
        pages.put(below, PENCIL_ROOM)


def _put_words(pages: _Pages, passage: Engraved) -> None:
    if not passage.words:
        return
    lines = [passage.above_words, *passage.words]
    pages.make_room(min(len(lines), FEWEST_LINES) * LINE)
    for place, line in enumerate(lines):
        pages.make_room(LINE)
        weight = "normal" if place else "bold"
        pages.put(
            f'<text class="words" x="{pages.paper.margin + 20}" y="{pages.top + LINE:g}" font-family="{FONT}" '
            f'font-size="{WORDS_SIZE}px" font-weight="{weight}">{escape(line)}</text>',
            LINE,
        )


def _title(title: str, margin: int, top: float) -> str:
    return (
        f'<text class="title" x="{margin + 20}" y="{top + TITLE_SIZE:g}" font-family="{FONT}" '
        f'font-size="{TITLE_SIZE}px" font-weight="bold">{escape(title)}</text>'
    )


def _placed(system: Drawing, place: tuple[float, float], name: str) -> str:
    """Return one system at its place; its glyphs are named apart from other systems'."""
    inside = _GLYPHS.sub(rf'\1\2-{name}"', _IDS.sub("", _OUTER.sub("", system.svg, count=1)))
    rooted = re.sub(r"(?<=[>,}\s])#\w+ (?=g\.|ellipse|path|poly|rect)", f".{name} ", inside)
    scale = system.scale
    size = f'width="{scale * system.width:g}" height="{scale * system.height:g}"'
    box = f'viewBox="0 0 {system.width:g} {system.height:g}"'
    opening = f'<svg {size} {box} overflow="visible">'
    where = f'class="{name}" transform="translate({place[0]:g}, {place[1]:g})"'
    return f"<g {where}>{opening}{rooted}</g>"


def _page_parts(paper: Paper, parts: Iterable[str], place: int, pages: int) -> Iterator[str]:
    """Yield what a page is made of, with its number where there are several."""
    yield (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="{paper.width / 10:g}mm" height="{paper.height / 10:g}mm" '
        f'viewBox="0 0 {paper.width} {paper.height}">'
        f'<rect class="paper" width="{paper.width}" height="{paper.height}" fill="white"/>'
    )
    yield from parts
    if pages > 1:
        yield (
            f'<text class="page" x="{paper.width / 2:g}" y="{paper.height - 60}" text-anchor="middle" '
            f'font-family="{FONT}" font-size="34px">{place} of {pages}</text>'
        )
    yield "</svg>\n"
