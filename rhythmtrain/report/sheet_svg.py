"""The engraver's drawing made ours: the counts' own staff leaves no bar lines, ids are unique.

The engraver draws bar lines on every staff, also on the invisible one that carries the counts.
Those are told by their height: each bar's own staff line says where the rhythm stands.
"""

import re
from dataclasses import dataclass

FARTHEST = 420.0  # half a five-line staff and a little, in the drawing's units

_MEASURE = re.compile(r'<g id="[^"]*" class="measure">')
_STAFF_LINE = re.compile(r'class="staff">\s*<path d="M-?[\d.]+ (-?[\d.]+)')
_BAR_LINE = re.compile(r'(<g id="[^"]*" class="barLine">)(.*?)(</g>)', re.DOTALL)
_STROKE = re.compile(r"\s*<(?:path|rect|use|circle|ellipse)\b[^>]*/>")
_HEIGHT = re.compile(r'(?:d="M-?[\d.]+ | y="|cy="|translate\(-?[\d.]+, ?)(-?[\d.]+)')
_BOX = re.compile(r'<svg[^>]*?viewBox="0 0 ([\d.]+) ([\d.]+)"')


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing of music: its SVG, with its width and height in its own units."""

    svg: str
    width: float
    height: float


def drawing_of(svg: str) -> Drawing:
    """Return the engraver's ``svg`` without what it draws for the counts' own staff."""
    pieces = _MEASURE.split(svg)
    heads = _MEASURE.findall(svg)
    cleaned = [pieces[0]]
    for head, piece in zip(heads, pieces[1:], strict=True):
        line = _STAFF_LINE.search(piece)
        cleaned.append(head + (_without_second_staff(piece, float(line[1])) if line else piece))
    clean = "".join(cleaned)
    box = _BOX.search(clean)
    width, height = (float(box[1]), float(box[2])) if box else (0.0, 0.0)
    return Drawing(clean[clean.index("<svg") :], width, height)


def _without_second_staff(measure: str, line_y: float) -> str:
    def kept(match: re.Match[str]) -> str:
        return match[1] + _STROKE.sub(lambda stroke: _near(stroke[0], line_y), match[2]) + match[3]

    return _BAR_LINE.sub(kept, measure)


def _near(stroke: str, line_y: float) -> str:
    heights = [float(height) for height in _HEIGHT.findall(stroke)]
    inside = all(abs(height - line_y) <= FARTHEST for height in heights)
    return stroke if inside else ""
