"""What is drawn into the picture of progress: a row for the tempi, for an entry, for a bar.

Everything of a kind in a row is drawn at once.
"""

from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from rhythmtrain.report.days.history_text import day_in_words
from rhythmtrain.report.days.panels import FIRST_X, HEAD, LEFT, PANELS, ROW, Days, Panel
from rhythmtrain.report.days.view import BarRow, EntryRow, Progress
from rhythmtrain.report.take.picture_rows import INK, PALE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SMALL = 7.5
FAINT, BAND, LINE = "#b9b9b9", "#e6e9ee", "#0072B2"
LOW_TEMPO = 0.9
# Tries without help stand a little beside those of the same day with help.
ALONE_BESIDE = 5.0


def draw_heads(plot: "Axes", top: float, scale: tuple[float, float]) -> None:
    """Write over each panel what it shows, and its scale."""
    spread, habit = (f"{1000 * each:.0f} ms" for each in scale)
    words = (f"uneven, up to {spread}", f"late ▲ / early ▼, {habit}", "not heard, of all")
    for panel, said in zip(PANELS, words, strict=True):
        plot.text(panel.left, top + SMALL, said, va="center", color=PALE, fontsize=SMALL)


def draw_bar(plot: "Axes", row: BarRow, days: Days, scale: tuple[float, float], top: float) -> None:
    """Draw the three panels of a bar in the row at ``top``."""
    uneven, habit, missing = PANELS
    _name(plot, str(row.bar) if row.bar else "upbeat", top)
    floor = top + ROW - 3
    known = [each for each in row.days if each.spread_s is not None]
    across = [days.x(each.day, uneven) for each in row.days]
    steady = [uneven.y(each.steady_s / scale[0], top) for each in row.days]
    plot.fill_between(*_stretched(across, steady, uneven), floor, color=BAND, linewidth=0, zorder=0)
    spreads = [uneven.y((each.spread_s or 0.0) / scale[0], top) for each in known]
    _line(plot, [days.x(each.day, uneven) for each in known], spreads)
    sided = [(each.day, each.habit_s) for each in row.days if each.habit_s is not None]
    middle = top + ROW / 2
    plot.hlines(middle, habit.left, habit.right, color=FAINT, linewidth=0.7, zorder=1)
    _line(
        plot,
        [days.x(day, habit) for day, _ in sided],
        [habit.y(0.5 + 0.5 * habit_s / scale[1], top) for _, habit_s in sided],
    )
    plot.hlines(floor, missing.left, missing.right, color=FAINT, linewidth=0.7, zorder=1)
    shares = [each.missed / max(each.missed + each.matched, 1) for each in row.days]
    spots = [
        (days.x(each.day, missing), missing.y(share, top), bool(share))
        for each, share in zip(row.days, shares, strict=True)
    ]
    stems = [(x, y) for x, y, gone in spots if gone]
    if stems:
        xs, ys = zip(*stems, strict=True)
        plot.vlines(xs, ys, floor, color=INK, linewidth=1.0, zorder=2)
    _marks(plot, spots)


def draw_tempi(plot: "Axes", progress: Progress, days: Days, top: float) -> float:
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
    spots = [
        (days.x(each.day, whole), whole.y((each.tempo - low) / (most - low), top), not each.right)
        for each in progress.tempi
    ]
    _marks(plot, spots, size=4.0)
    return top + ROW


def draw_entry(plot: "Axes", entry: EntryRow, days: Days, top: float) -> float:
    """Draw how often an entry was in time on each day, without help and otherwise."""
    whole = Panel(LEFT, PANELS[-1].right)
    said = (
        f"entry in bar {entry.bar}, {entry.count}, how often in time: ● without help  ○ otherwise"
    )
    plot.text(LEFT, top + 4, said, va="center", color=PALE, fontsize=SMALL)
    floor = top + ROW - 3
    plot.text(LEFT - 8, floor - ROW + 14, "all", ha="right", va="center", fontsize=SMALL)
    plot.text(LEFT - 8, floor, "none", ha="right", va="center", fontsize=SMALL)
    plot.hlines(floor, whole.left, whole.right, color=FAINT, linewidth=0.7, zorder=1)
    spots = [
        (
            days.x(each.day, whole) + (ALONE_BESIDE if each.alone else 0.0),
            floor - each.in_time / max(each.tries, 1) * (ROW - 14),
            not each.alone,
        )
        for each in entry.days
    ]
    _marks(plot, spots, size=4.0)
    return top + ROW


def draw_dates(plot: "Axes", days: Days, panel: Panel, top: float) -> None:
    """Write the first and the last day under a panel."""
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


def _marks(plot: "Axes", spots: Sequence[tuple[float, float, bool]], *, size: float = 3.2) -> None:
    """Draw rings at (x, y, hollow), all of a kind at once: single ones would take seconds."""
    for hollow in (False, True):
        some = [(x, y) for x, y, ring in spots if ring == hollow]
        if some:
            plot.plot(
                *zip(*some, strict=True), linestyle="none", marker="o", markersize=size, color=INK,
                markerfacecolor="white" if hollow else INK, markeredgewidth=0.9, zorder=4,
            )  # fmt: skip


def _stretched(
    xs: Sequence[float], ys: Sequence[float], panel: Panel
) -> tuple[Sequence[float], Sequence[float]]:
    """Return the band from edge to edge of its panel."""
    return [panel.left, *xs, panel.right], [ys[0], *ys, ys[-1]]
