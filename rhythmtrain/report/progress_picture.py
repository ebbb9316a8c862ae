"""The picture of progress: small multiples, one row a bar, the days running to the right.

Every row has the same three panels in the same scale, so that rows can be compared: how uneven the
bar was, where it lay beside the beat (late above the line, early below), and how much of it was
not heard.  The band under the first line is the spread of a steady player.  Days are drawn where
they lie on the calendar, so a week without practice is a gap.  The first row is the tempo, and an
entry has a row of its own.  Shapes say what colours repeat (Okabe and Ito 2008).
"""

from collections.abc import Sequence
from datetime import date
from io import BytesIO
from typing import TYPE_CHECKING, Any

from rhythmtrain.report.history_text import day_in_words
from rhythmtrain.report.picture_rows import INK, PALE
from rhythmtrain.report.progress_panels import (
    FIRST_X,
    HEAD,
    LEFT,
    PANELS,
    ROW,
    WIDE,
    Days,
    Panel,
    bar_scale,
)
from rhythmtrain.report.progress_view import BarRow, EntryRow, Progress

if TYPE_CHECKING:
    from matplotlib.axes import Axes

POINTS_AN_INCH = 72.0
DOTS_AN_INCH = 150
TEXT, SMALL = 9.0, 7.5
FAINT, BAND, LINE = "#b9b9b9", "#e6e9ee", "#0072B2"
FOOT = 18.0
LOW_TEMPO = 0.9
# Tries without help stand a little beside those of the same day with help.
ALONE_BESIDE = 5.0
MOST_BARS = 100
SHRINKS_TO = 0.75
PICTURES = ("png", "svg")


def progress_picture(progress: Progress, *, kind: str) -> bytes:
    """Return the picture as a file of ``kind`` "png" or "svg"."""
    from matplotlib import rc_context  # noqa: PLC0415  (loaded when a picture is drawn)
    from matplotlib.figure import Figure  # noqa: PLC0415

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


def _draw(plot: "Axes", progress: Progress, rows: Sequence[BarRow]) -> None:
    days = Days(progress.days)
    scale = bar_scale(rows)
    top = _draw_tempi(plot, progress, days, HEAD)
    for entry in progress.entries:
        top = _draw_entry(plot, entry, days, top)
    _draw_heads(plot, top, scale)
    top += HEAD
    for row in rows:
        _draw_bar(plot, row, days, scale, top)
        top += ROW
    for panel in PANELS:
        _draw_dates(plot, days, panel, top)


def _draw_heads(plot: "Axes", top: float, scale: tuple[float, float]) -> None:
    """Write over each panel what it shows, and its scale."""
    spread, habit = (f"{1000 * each:.0f} ms" for each in scale)
    words = (f"uneven, up to {spread}", f"late ▲ / early ▼, {habit}", "not heard, of all")
    for panel, said in zip(PANELS, words, strict=True):
        plot.text(panel.left, top + SMALL, said, va="center", color=PALE, fontsize=SMALL)


def _draw_bar(
    plot: "Axes", row: BarRow, days: Days, scale: tuple[float, float], top: float
) -> None:
    uneven, habit, missing = PANELS
    _name(plot, str(row.bar) if row.bar else "upbeat", top)
    floor = top + ROW - 3
    known = [each for each in row.days if each.spread_s is not None]
    xs = [days.x(each.day, uneven) for each in row.days]
    steady = [uneven.y(each.steady_s / scale[0], top) for each in row.days]
    plot.fill_between(*_stretched(xs, steady, uneven), floor, color=BAND, linewidth=0, zorder=0)
    ys = [uneven.y((each.spread_s or 0.0) / scale[0], top) for each in known]
    _line(plot, [days.x(each.day, uneven) for each in known], ys)
    sided = [(each.day, each.habit_s) for each in row.days if each.habit_s is not None]
    middle = top + ROW / 2
    plot.hlines(middle, habit.left, habit.right, color=FAINT, linewidth=0.7, zorder=1)
    _line(
        plot,
        [days.x(day, habit) for day, _ in sided],
        [habit.y(0.5 + 0.5 * habit_s / scale[1], top) for _, habit_s in sided],
    )
    plot.hlines(floor, missing.left, missing.right, color=FAINT, linewidth=0.7, zorder=1)
    for each in row.days:
        share = each.missed / max(each.missed + each.matched, 1)
        x, y = days.x(each.day, missing), missing.y(share, top)
        if share:
            plot.vlines(x, y, floor, color=INK, linewidth=1.0, zorder=2)
        _mark(plot, x, y, hollow=bool(share))


def _draw_tempi(plot: "Axes", progress: Progress, days: Days, top: float) -> float:
    """Draw the tempi of every day up to the written one, those without a fault filled."""
    if not progress.tempi:
        return top
    whole = Panel(LEFT, PANELS[-1].right)
    tempi = [progress.state.tempo, *(each.tempo for each in progress.tempi)]
    low, most = LOW_TEMPO * min(tempi), max(tempi)
    written = whole.y((progress.state.tempo - low) / (most - low), top)
    said = "tempo: ● without a fault  ○ not yet; the line is the written one"
    plot.text(LEFT, top - HEAD + SMALL, said, va="center", color=PALE, fontsize=SMALL)
    _name(plot, f"{progress.state.tempo:.3g}", written - ROW / 2)
    plot.hlines(written, whole.left, whole.right, color=FAINT, linewidth=0.9, zorder=1)
    for each in progress.tempi:
        x = days.x(each.day, whole)
        _mark(
            plot,
            x,
            whole.y((each.tempo - low) / (most - low), top),
            hollow=not each.right,
            size=4.0,
        )
    return top + ROW


def _draw_entry(plot: "Axes", entry: EntryRow, days: Days, top: float) -> float:
    whole = Panel(LEFT, PANELS[-1].right)
    said = (
        f"entry in bar {entry.bar}, {entry.count}, how often in time: ● without help  ○ otherwise"
    )
    plot.text(LEFT, top + 4, said, va="center", color=PALE, fontsize=SMALL)
    floor = top + ROW - 3
    plot.text(LEFT - 8, floor - ROW + 14, "all", ha="right", va="center", fontsize=SMALL)
    plot.text(LEFT - 8, floor, "none", ha="right", va="center", fontsize=SMALL)
    plot.hlines(floor, whole.left, whole.right, color=FAINT, linewidth=0.7, zorder=1)
    for each in entry.days:
        share = each.in_time / max(each.tries, 1)
        y = floor - share * (ROW - 14)
        beside = ALONE_BESIDE if each.alone else 0.0
        _mark(plot, days.x(each.day, whole) + beside, y, hollow=not each.alone, size=4.0)
    return top + ROW


def _draw_dates(plot: "Axes", days: Days, panel: Panel, top: float) -> None:
    ends = dict.fromkeys((days.first, days.last))
    for day, side in zip(ends, ("left", "right"), strict=False):
        x = days.x(day, panel) if len(ends) > 1 else panel.left + FIRST_X
        plot.text(x, top + SMALL, _short(day), ha=side, va="center", color=PALE, fontsize=SMALL)


def _short(day: date) -> str:
    return day_in_words(day.isoformat(), year=False)


def _name(plot: "Axes", words: str, top: float) -> None:
    plot.text(LEFT - 8, top + ROW / 2, words, ha="right", va="center", fontweight="bold")


def _line(plot: "Axes", xs: Sequence[float], ys: Sequence[float]) -> None:
    size = 2.6 if len(xs) <= Days.CLOSE else 1.2
    plot.plot(xs, ys, color=LINE, linewidth=1.1, marker="o", markersize=size, zorder=3)


def _mark(plot: "Axes", x: float, y: float, *, hollow: bool, size: float = 3.2) -> None:
    colour = "white" if hollow else INK
    plot.plot(
        [x], [y], marker="o", markersize=size, color=INK, markerfacecolor=colour,
        markeredgewidth=0.9, zorder=4,
    )  # fmt: skip


def _stretched(
    xs: Sequence[float], ys: Sequence[float], panel: Panel
) -> tuple[Sequence[float], Sequence[float]]:
    """Return the band from edge to edge of its panel."""
    return [panel.left, *xs, panel.right], [ys[0], *ys, ys[-1]]
