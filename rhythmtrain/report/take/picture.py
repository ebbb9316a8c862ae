"""The picture of a take: every bar a row, the counts along it, the notes black above a lane.

What was heard stands in the lane.  Early leans to the left and late to the right; missing and too
many have shapes of their own; colours (Okabe and Ito 2008, safe for colour-blind eyes, the orange
darkened) only repeat what the shapes say.  Where a bar comes round several times the lane has a
line for each, the first on top.

Everything is laid out in points from the upper left corner, so that a page of two hundred bars is
one drawing and the letters stay the size they are.
"""

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any

from rhythmtrain.report.take.picture_rows import (
    INK,
    MARKS,
    PALE,
    Mark,
    Row,
    Spot,
    rest_words,
    spots_of,
)
from rhythmtrain.report.take.picture_sheet import (
    COUNT_Y,
    LANE_Y,
    LEFT,
    NOTE_Y,
    REST_HEIGHT,
    TEXT,
    WORDS_HEIGHT,
    Sheet,
    edges,
    labels,
    laid_out,
    spot_at,
)
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.score.passage import Bar, bar_starts, notes_of
from rhythmtrain.timing.timeline import Timeline

if TYPE_CHECKING:
    from matplotlib.axes import Axes

POINTS_AN_INCH = 72.0
KEY_TEXT = 8.0
KEY_Y = 10.0
FAINT, LANE = "#b9b9b9", "#f0f0f0"
# A phone shows a picture this much smaller than drawn before it has to be pushed sideways.
SHRINKS_TO = 0.9


def timing_picture(heard: Heard, timeline: Timeline) -> str:
    """Return the picture as an SVG document, to be put into a page as it is."""
    from matplotlib import rc_context  # noqa: PLC0415  (loaded when a picture is drawn)
    from matplotlib.figure import Figure  # noqa: PLC0415

    spots = spots_of(heard.findings, timeline)
    sheet = laid_out(heard, timeline, spots)
    style: dict[Any, Any] = {
        "svg.fonttype": "none",
        "svg.hashsalt": "rhythmtrain",
        "font.size": TEXT,
    }
    with rc_context(style):
        figure = Figure(figsize=(sheet.width / POINTS_AN_INCH, sheet.height / POINTS_AN_INCH))
        plot = figure.add_axes((0, 0, 1, 1))
        plot.set_xlim(0, sheet.width)
        plot.set_ylim(sheet.height, 0)
        plot.axis("off")
        _draw_key(plot, [mark for mark in MARKS.values() if any(s.mark is mark for s in spots)])
        _draw_rows(plot, sheet, timeline.passage.bars)
        _draw_spots(plot, sheet, spots)
        file = BytesIO()
        figure.savefig(file, format="svg", metadata={"Date": None}, transparent=True)
    svg = file.getvalue().decode("utf-8")
    least = f'<svg style="min-width: {sheet.width * SHRINKS_TO:.0f}pt"'
    return svg[svg.index("<svg") :].replace("<svg", least, 1)


def _draw_key(plot: "Axes", marks: Sequence[Mark]) -> None:
    x = LEFT
    for mark in marks:
        plot.plot([x], [KEY_Y], **_style(mark))
        plot.text(x + 6, KEY_Y, mark.word, va="center", color=PALE, fontsize=KEY_TEXT)
        x += 16 + 0.53 * KEY_TEXT * len(mark.word)


def _draw_rows(plot: "Axes", sheet: Sheet, bars: tuple[Bar, ...]) -> None:
    """Draw all rows, every kind of thing at once: a thousand single lines would take seconds."""
    shown = [(row, top) for row, top in zip(sheet.rows, sheet.tops, strict=True) if not row.rest]
    _draw_lanes(plot, sheet, shown)
    _draw_notes(plot, sheet, shown, bars)
    for row, top in zip(sheet.rows, sheet.tops, strict=True):
        middle = REST_HEIGHT / 2 if row.rest else NOTE_Y
        plot.text(LEFT - 14, top + middle, row.name, ha="right", va="center", fontweight="bold")
        if row.rest:
            _draw_rest(plot, sheet, row, top)
        else:
            _draw_words(plot, sheet, row, top)


def _draw_lanes(plot: "Axes", sheet: Sheet, shown: Sequence[tuple[Row, float]]) -> None:
    """Draw the lanes, and a thin line for each beat from its count down through the lane."""
    for row, top in shown:
        tall = sheet.lane_height(row.index)
        low, high = edges(sheet, row.bar)
        plot.hlines(top + LANE_Y + tall / 2, low, high, color=LANE, linewidth=tall, zorder=0)
    lines = [
        (sheet.x(float(beat.start)), top + COUNT_Y + 6, top + LANE_Y + sheet.lane_height(row.index))
        for row, top in shown
        for beat in row.bar.metre.beats
        if row.bar.begins <= beat.start < row.bar.ends
    ]
    if lines:
        plot.vlines(*zip(*lines, strict=True), color=FAINT, linewidth=0.7, zorder=1)


def _draw_notes(
    plot: "Axes", sheet: Sheet, shown: Sequence[tuple[Row, float]], bars: tuple[Bar, ...]
) -> None:
    """Draw every note's head in its own bar, and its length in every bar in which it sounds."""
    tops = {row.index: top for row, top in shown}
    starts = [float(start) for start in bar_starts(bars)]
    heads, lengths = [], []
    for note in notes_of(bars):
        begun, ended = float(note.at), float(note.at + note.length)
        for index in range(note.index, len(bars)):
            if starts[index] >= ended:
                break
            if index not in tops:
                continue
            bar, y = bars[index], tops[index] + NOTE_Y
            nominal = starts[index] - float(bar.begins)
            low = sheet.x(max(begun - nominal, float(bar.begins)))
            high = min(sheet.x(ended - nominal) - 3, sheet.x(float(bar.ends)))
            lengths.append((y, low, max(low, high)))
            if index == note.index:
                heads.append((low, y))
    if lengths:
        plot.hlines(*zip(*lengths, strict=True), color=INK, linewidth=1.6, zorder=2)
        xs, ys = zip(*heads, strict=True)
        plot.plot(xs, ys, linestyle="none", marker="o", color=INK, markersize=5.5, zorder=3)


def _draw_rest(plot: "Axes", sheet: Sheet, row: Row, top: float) -> None:
    y = top + REST_HEIGHT / 2
    left, right = sheet.x(float(row.bar.begins)), sheet.x(float(row.bar.metre.length))
    words = rest_words(row)
    room = 0.56 * TEXT * len(words) / 2 + 4
    middle = (left + right) / 2
    plot.hlines([y, y], [left, middle + room], [middle - room, right], color=FAINT, linewidth=1)
    plot.text(middle, y, words, ha="center", va="center", color=PALE)


def _draw_words(plot: "Axes", sheet: Sheet, row: Row, top: float) -> None:
    """Draw the counts over a bar, and under it how an entry came in at another count."""
    for x, label, played in labels(sheet, row.bar):
        colour = INK if played else PALE
        plot.text(x, top + COUNT_Y, label, ha="center", va="center", color=colour)
    if row.index in sheet.words:
        shape, words = sheet.words[row.index]
        y = top + LANE_Y + sheet.lane_height(row.index) + WORDS_HEIGHT / 2 + 1
        x = sheet.x(float(row.bar.begins))
        plot.text(x, y, f"{shape} {words}".strip(), va="center", color=INK)


def _draw_spots(plot: "Axes", sheet: Sheet, spots: Sequence[Spot]) -> None:
    for mark in MARKS.values():
        places = [spot_at(sheet, spot) for spot in spots if spot.mark is mark]
        if places:
            xs, ys = zip(*places, strict=True)
            plot.plot(xs, ys, zorder=4, **_style(mark))


def _style(mark: Mark) -> dict[str, Any]:
    return {
        "linestyle": "none",
        "marker": mark.shape,
        "markersize": mark.size,
        "markeredgecolor": mark.colour,
        "markerfacecolor": mark.colour if mark.filled else "none",
        "markeredgewidth": 1.3,
    }
