"""The picture of progress: small multiples, one row a bar, the days running to the right.

Every row has the same three panels in the same scale, so that rows can be compared: how uneven the
bar was, where it lay beside the beat (late above the line, early below), and how much of it was
not heard.  The band under the first line is the spread of a steady player.  Days are drawn where
they lie on the calendar, so a week without practice is a gap.  The first row is the tempo, and an
entry has a row of its own.  Shapes say what colours repeat (Okabe and Ito 2008).
"""

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any

from rhythmtrain.report.days.days import since
from rhythmtrain.report.days.drawing import (
    draw_bar,
    draw_dates,
    draw_entry,
    draw_heads,
    draw_tempi,
)
from rhythmtrain.report.days.panels import HEAD, PANELS, ROW, WIDE, Days, bar_scale
from rhythmtrain.report.days.view import BarRow, Progress

if TYPE_CHECKING:
    from matplotlib.axes import Axes

POINTS_AN_INCH = 72.0
DOTS_AN_INCH = 150
TEXT = 9.0
FOOT = 18.0
MOST_BARS, MOST_DAYS = 100, 120
SHRINKS_TO = 0.75


def progress_picture(progress: Progress, *, kind: str) -> bytes:
    """Return the picture as a file of ``kind`` "png" or "svg"."""
    from matplotlib import rc_context  # noqa: PLC0415  (loaded when a picture is drawn)
    from matplotlib.figure import Figure  # noqa: PLC0415

    progress = drawn_days(progress)
    rows = drawn_bars(progress)
    tempi = ROW if progress.tempi else 0.0
    high = 2 * HEAD + tempi + ROW * (len(rows) + len(progress.entries)) + FOOT
    style: dict[Any, Any] = {
        "svg.fonttype": "none",
        "svg.hashsalt": "rhythmtrain",
        "font.size": TEXT,
    }
    with rc_context(style):
        figure = Figure(figsize=(WIDE / POINTS_AN_INCH, high / POINTS_AN_INCH))
        plot = figure.add_axes((0, 0, 1, 1))
        plot.set_xlim(0, WIDE)
        plot.set_ylim(high, 0)
        plot.axis("off")
        _draw(plot, progress, rows)
        file = BytesIO()
        figure.savefig(
            file,
            format=kind,
            dpi=DOTS_AN_INCH,
            metadata={"Date": None} if kind == "svg" else None,
            facecolor="white",
        )
    return file.getvalue()


def progress_svg(progress: Progress) -> str:
    """Return the picture as an SVG document, to be put into a page as it is."""
    svg = progress_picture(progress, kind="svg").decode("utf-8")
    least = f'<svg style="min-width: {WIDE * SHRINKS_TO:.0f}pt"'
    return svg[svg.index("<svg") :].replace("<svg", least, 1)


def drawn_bars(progress: Progress) -> tuple[BarRow, ...]:
    """Return the bars that are drawn: all of them, or of many those that need it most."""
    if len(progress.bars) <= MOST_BARS:
        return progress.bars
    shares = {row.bar: row.skill.notes.share if row.skill else 1.0 for row in progress.bars}
    weakest = set(sorted(shares, key=lambda bar: (shares[bar], bar))[:MOST_BARS])
    return tuple(row for row in progress.bars if row.bar in weakest)


def drawn_days(progress: Progress) -> Progress:
    """Return what is drawn of the days: all of them, or of many the last ones."""
    days = progress.days
    return progress if len(days) <= MOST_DAYS else since(progress, days[-MOST_DAYS])


def _draw(plot: "Axes", progress: Progress, rows: Sequence[BarRow]) -> None:
    days = Days(progress.days)
    scale = bar_scale(rows)
    top = draw_tempi(plot, progress, days, HEAD)
    for entry in progress.entries:
        top = draw_entry(plot, entry, days, top)
    draw_heads(plot, top, scale)
    top += HEAD
    for row in rows:
        draw_bar(plot, row, days, scale, top)
        top += ROW
    for panel in PANELS:
        draw_dates(plot, days, panel, top)
