"""The engraver's drawing made ours: the counts' own staff leaves no bar lines, ids are unique.

The engraver draws bar lines on every staff, also on the invisible one that carries the counts.
Those are told by their height: each bar's own lowest line says where the rhythm stands.  The same
line says from where to where the bar reaches.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

# In the drawing's units: a bar line begins above its staff's lowest line, and repeat dots stand near it.
ABOVE = 50.0
NEAR = 100.0

_MEASURE = re.compile(r'<g id="[^"]*" class="measure">')
_STAFF = re.compile(r'class="staff">((?:\s*<path d="M-?[\d.]+ -?[\d.]+ [^>]*/>)*)')
_LINE = re.compile(r'd="M-?[\d.]+ (-?[\d.]+)')
_BAR_LINE = re.compile(r'(<g id="[^"]*" class="barLine">)(.*?)(</g>)', re.DOTALL)
_DOTS = re.compile(r'<g id="[^"]*" class="dots">.*?</g>', re.DOTALL)
_STROKE = re.compile(r"\s*<(?:path|rect|use|circle|ellipse)\b[^>]*/>")
_HEIGHT = re.compile(r'(?:d="M-?[\d.]+ | y="|cy="|translate\(-?[\d.]+, ?)(-?[\d.]+)')
_NAMED_MEASURE = re.compile(
    r'<g id="m(\d+)" class="measure">.*?class="staff">\s*<path d="M(-?[\d.]+) -?[\d.]+ L(-?[\d.]+)',
    re.DOTALL,
)
_INNER = re.compile(
    r'class="definition-scale"[^>]*viewBox="0 0 ([\d.]+) [^>]*>\s*<g class="page-margin" '
    r'transform="translate\((-?[\d.]+)'
)
_BOX = re.compile(r'<svg[^>]*?viewBox="0 0 ([\d.]+) ([\d.]+)"')


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing of music: its SVG, with its width and height in its own units.

    ``bars`` are (index of the bar in the passage, left edge, right edge); a long rest has its first's.
    It is to be shown at ``scale``.
    """

    svg: str
    width: float
    height: float
    bars: tuple[tuple[int, float, float], ...] = ()
    scale: float = 1.0


def drawing_of(svg: str) -> Drawing:
    """Return the engraver's ``svg`` without what it draws for the counts' own staff."""
    pieces = _MEASURE.split(svg)
    heads = _MEASURE.findall(svg)
    cleaned = [pieces[0]]
    for head, piece in zip(heads, pieces[1:], strict=True):
        cleaned.append(head + _without_second_staff(piece))
    clean = "".join(cleaned)
    box = _BOX.search(clean)
    width, height = (float(box[1]), float(box[2])) if box else (0.0, 0.0)
    return Drawing(clean[clean.index("<svg") :], width, height, tuple(_bars(svg, width)))


def _bars(svg: str, width: float) -> Iterator[tuple[int, float, float]]:
    """Yield (index, left, right) of every bar in the drawing's own units."""
    inner = _INNER.search(svg)
    if inner is None:
        return
    scale, margin = width / float(inner[1]), float(inner[2])
    for bar in _NAMED_MEASURE.finditer(svg):
        left, right = sorted(scale * (float(x) + margin) for x in (bar[2], bar[3]))
        yield int(bar[1]), left, right


def _without_second_staff(measure: str) -> str:
    """Return a measure without the bar lines and dots of the staff that only carries counts."""
    staves = list(_STAFF.finditer(measure))
    if len(staves) < 2:  # noqa: PLR2004  (two staves, always)
        return measure
    lowest = max(float(line) for line in _LINE.findall(staves[0][1]))

    def kept(match: re.Match[str]) -> str:
        return match[1] + _STROKE.sub(lambda stroke: _near(stroke[0], lowest), match[2]) + match[3]

    above, below = measure[: staves[1].start()], measure[staves[1].start() :]
    return _BAR_LINE.sub(kept, above + _DOTS.sub("", below))


def _near(stroke: str, lowest: float) -> str:
    """Return the stroke if it begins on the rhythm's own staff, else nothing."""
    line = stroke.lstrip().startswith(("<path", "<rect"))
    limit = lowest - ABOVE if line else lowest + NEAR
    return stroke if all(float(y) <= limit for y in _HEIGHT.findall(stroke)) else ""
