"""Pages of a practice sheet: titles, systems one under the other, and room for a pencil.

Lengths are tenths of a millimetre on A4 paper, upright.  A passage begins on a page only where
its title and first system fit together; long passages go on overleaf.
"""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape

from rhythmtrain.report.sheet_svg import Drawing

WIDTH = 2100
HEIGHT = 2970
MARGIN = 125
FOOT = 120
TITLE_ROOM = 110
TITLE_SIZE = 58
PENCIL_ROOM = 90  # under every system: one line of handwriting
BETWEEN = 60
FONT = "Times, 'Liberation Serif', serif"

_OUTER = re.compile(r"<svg[^>]*>")
_IDS = re.compile(r' id="(?!E[0-9A-F]{3}-)[^"]*"')
_GLYPHS = re.compile(r'(id="|href="#)(E[0-9A-F]{3})-\w+"')


@dataclass(frozen=True, slots=True)
class Engraved:
    """One passage engraved: its title and its systems from top to bottom."""

    title: str
    systems: tuple[Drawing, ...]


def sheet_pages(passages: Iterable[Engraved]) -> tuple[str, ...]:
    """Return the pages of a sheet as SVG, in order."""
    pages: list[list[str]] = [[]]
    top = MARGIN
    number = 0
    for passage in passages:
        for place, system in enumerate(passage.systems):
            above = 0 if place else TITLE_ROOM
            needed = above + system.height + PENCIL_ROOM
            if pages[-1] and top + needed > HEIGHT - FOOT:
                pages.append([])
                top = MARGIN
            if above:
                pages[-1].append(_title(passage.title, top))
            number += 1
            pages[-1].append(_placed(system, top + above, f"s{number}"))
            top += round(needed)
        top += BETWEEN
    return tuple(_page(parts, place, len(pages)) for place, parts in enumerate(pages, start=1))


def _title(title: str, top: float) -> str:
    return (
        f'<text class="title" x="{MARGIN + 20}" y="{top + TITLE_SIZE:g}" font-family="{FONT}" '
        f'font-size="{TITLE_SIZE}px" font-weight="bold">{escape(title)}</text>'
    )


def _placed(system: Drawing, top: float, name: str) -> str:
    """Return one system at its place; its glyphs are named apart from other systems'."""
    inside = _GLYPHS.sub(rf'\1\2-{name}"', _IDS.sub("", _OUTER.sub("", system.svg, count=1)))
    rooted = re.sub(r"(?<=[>,}\s])#\w+ (?=g\.|ellipse|path|poly|rect)", f".{name} ", inside)
    size = f'width="{system.width:g}" height="{system.height:g}"'
    box = f'viewBox="0 0 {system.width:g} {system.height:g}"'
    opening = f'<svg {size} {box} overflow="visible">'
    place = f'class="{name}" transform="translate({MARGIN}, {top:g})"'
    return f"<g {place}>{opening}{rooted}</g>"


def _page(parts: Iterable[str], place: int, pages: int) -> str:
    return "".join(_page_parts(parts, place, pages))


def _page_parts(parts: Iterable[str], place: int, pages: int) -> Iterator[str]:
    yield (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="210mm" height="297mm" viewBox="0 0 {WIDTH} {HEIGHT}">'
        f'<rect class="paper" width="{WIDTH}" height="{HEIGHT}" fill="white"/>'
    )
    yield from parts
    if pages > 1:
        yield (
            f'<text class="page" x="{WIDTH / 2:g}" y="{HEIGHT - 60}" text-anchor="middle" '
            f'font-family="{FONT}" font-size="34px">{place} of {pages}</text>'
        )
    yield "</svg>\n"
