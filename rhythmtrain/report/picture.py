"""The picture of a take: every bar a row, the counts along it, the notes black above a lane.

What was heard stands in the lane where it fell in the bar, seen from the player's own habit, so an even
player's marks stand right under the notes.  Early leans to the left and late to the right; missing
and too many have shapes of their own; colours (Okabe and Ito 2008, safe for colour-blind eyes)
only repeat what the shapes say.  Bars of rest in a row are one line.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any

from rhythmtrain.assess.findings import Findings, NoteFinding, Verdict
from rhythmtrain.report.praise import Heard
from rhythmtrain.score.counts import count_name
from rhythmtrain.score.passage import Bar, Kind, Note, bar_starts, notes_of
from rhythmtrain.timing.timeline import PlayedBar, Timeline

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDTH_IN = 5.2
ROW_IN = 0.66
REST_ROW_IN = 0.3
HEAD_IN = 0.5
INK, PALE, FAINT = "#000000", "#6b6b6b", "#c8c8c8"
EARLY_COLOUR, LATE_COLOUR, EXTRA_COLOUR = "#0072B2", "#D55E00", "#7B3F8C"
NOTE_Y, COUNT_Y, LANE_Y = 0.62, 0.93, 0.18
LANE_TOP, LANE_FOOT = 0.36, 0.0


@dataclass(frozen=True, slots=True)
class Mark:
    """How a verdict is drawn: its shape, colour, size, and the word in the key."""

    shape: str
    colour: str
    size: float
    word: str
    filled: bool = True


MARKS: dict[Verdict | str, Mark] = {
    Verdict.IN_TIME: Mark("o", PALE, 3.4, "in time"),
    Verdict.EARLY: Mark("<", EARLY_COLOUR, 7.0, "early"),
    Verdict.LATE: Mark(">", LATE_COLOUR, 7.0, "late"),
    Verdict.MISSED: Mark("o", INK, 7.0, "not heard", filled=False),
    "extra": Mark("x", EXTRA_COLOUR, 6.0, "one too many", filled=False),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the picture: a bar with its notes, or bars of rest from ``bar`` to ``last``."""

    index: int
    bar: Bar
    last: int
    rest: bool


@dataclass(frozen=True, slots=True)
class Spot:
    """A mark in the lane of a bar: where (quarters from the bar's nominal start) and what."""

    bar: int
    at: float
    mark: Mark


def rows_of(bars: tuple[Bar, ...]) -> tuple[Row, ...]:
    """Return the lines of the picture, bars of rest in a row as one."""
    sounding = {note.index for note in notes_of(bars)}
    rows: list[Row] = []
    for index, bar in enumerate(bars):
        rest = index not in sounding
        if rest and rows and rows[-1].rest:
            rows[-1] = Row(rows[-1].index, rows[-1].bar, bar.number, rest=True)
        else:
            rows.append(Row(index, bar, bar.number, rest))
    return tuple(rows)


def spots_of(findings: Findings, timeline: Timeline) -> tuple[Spot, ...]:
    """Return every mark of the lanes: notes heard or missing, and what was too many."""
    habit = findings.spread.median_s if findings.spread else 0.0
    found = [
        _spot(note, timeline, habit)
        for note in findings.notes
        if note.verdict is not Verdict.NOT_CHECKED
    ]
    return (*found, *_extras(findings, timeline))


def timing_picture(heard: Heard, timeline: Timeline) -> str:
    """Return the picture as an SVG document, to be put into a page as it is."""
    from matplotlib import rc_context  # noqa: PLC0415  (loaded when a picture is drawn)
    from matplotlib.figure import Figure  # noqa: PLC0415

    rows = rows_of(timeline.passage.bars)
    heights = [REST_ROW_IN if row.rest else ROW_IN for row in rows]
    with rc_context({"svg.fonttype": "none", "svg.hashsalt": "rhythmtrain", "font.size": 8.5}):
        figure = Figure(figsize=(WIDTH_IN, sum(heights) + HEAD_IN))
        plots = figure.subplots(
            len(rows) + 1, 1, gridspec_kw={"height_ratios": [HEAD_IN, *heights], "hspace": 0.12}
        )
        figure.subplots_adjust(left=0.115, right=0.985, top=0.995, bottom=0.01)
        _draw_key(plots[0])
        spots = spots_of(heard.findings, timeline)
        widest = max(bar.metre.length for bar in timeline.passage.bars)
        for row, plot in zip(rows, plots[1:], strict=True):
            _blank(plot, float(widest))
            if row.rest:
                _draw_rest(plot, row)
            else:
                _draw_bar(plot, row, timeline.passage.bars, spots)
        file = BytesIO()
        figure.savefig(file, format="svg", metadata={"Date": None}, transparent=True)
    svg = file.getvalue().decode("utf-8")
    return svg[svg.index("<svg") :]


def _spot(note: NoteFinding, timeline: Timeline, habit_s: float) -> Spot:
    played = timeline.notes[note.note]
    place = timeline.bars[played.place]
    at = played.at
    if note.offset_s is None:
        return Spot(note.bar, float(at - place.nominal), MARKS[note.verdict])
    heard = timeline.tempo.quarters(timeline.seconds(at) + note.offset_s - habit_s)
    return Spot(note.bar, heard - float(place.nominal), MARKS[note.verdict])


def _extras(findings: Findings, timeline: Timeline) -> Iterator[Spot]:
    for extra in findings.extras:
        at = timeline.tempo.quarters(extra.time_s - findings.start_s)
        place = _bar_at(timeline, at)
        if place is not None and place.index is not None:
            yield Spot(place.bar.number, at - float(place.nominal), MARKS["extra"])


def _bar_at(timeline: Timeline, at: float) -> PlayedBar | None:
    return next((bar for bar in timeline.bars if bar.start <= at < bar.stop), None)


def _blank(plot: "Axes", widest: float) -> None:
    plot.set_xlim(-0.06 * widest, widest * 1.02)
    plot.set_ylim(-0.1, 1.12)
    plot.axis("off")


def _draw_key(plot: "Axes") -> None:
    plot.axis("off")
    for mark in MARKS.values():
        plot.plot([], [], linestyle="none", label=mark.word, **_style(mark))
    plot.legend(loc="center", ncols=len(MARKS), frameon=False, handletextpad=0.1, columnspacing=1.1)


def _draw_rest(plot: "Axes", row: Row) -> None:
    many = row.last - row.bar.number + 1
    name = str(row.bar.number) if many == 1 else f"{row.bar.number}-{row.last}"
    _name(plot, name)
    words = "rest" if many == 1 else f"{many} bars of rest"
    plot.plot([0, float(row.bar.metre.length)], [0.5, 0.5], color=FAINT, linewidth=1)
    plot.text(
        float(row.bar.metre.length) / 2, 0.5, f" {words} ", ha="center", va="center",
        color=PALE, backgroundcolor="white",
    )  # fmt: skip


def _draw_bar(plot: "Axes", row: Row, bars: tuple[Bar, ...], spots: tuple[Spot, ...]) -> None:
    bar = row.bar
    start = bar_starts(bars)[row.index] - bar.begins
    _name(plot, str(bar.number))
    plot.axvspan(float(bar.begins), float(bar.ends), LANE_FOOT, LANE_TOP, color="#f3f3f3", lw=0)
    for beat in bar.metre.beats:
        if bar.begins <= beat.start < bar.ends:
            plot.plot([float(beat.start)] * 2, [-0.05, 0.8], color=FAINT, linewidth=0.7, zorder=0)
    for place in bar.places:
        words = _bracketed(count_name(bar.metre, place.at), place.kind)
        colour = INK if place.kind is Kind.PLAYED else PALE
        plot.text(float(place.at), COUNT_Y, words, ha="center", va="center", color=colour)
    for note in notes_of(bars):
        _draw_note(plot, note, row.index, float(start), float(bar.ends))
    for spot in spots:
        if spot.bar == bar.number:
            plot.plot([spot.at], [LANE_Y], clip_on=False, zorder=4, **_style(spot.mark))


def _draw_note(plot: "Axes", note: Note, index: int, start: float, end: float) -> None:
    """Draw a note's head in its own bar and its length in every bar it sounds in."""
    begun, ended = float(note.at) - start, float(note.at + note.length) - start
    low, high = max(begun, 0.0), min(ended, end)
    if high - low > 0:
        plot.plot([low, high - 0.04], [NOTE_Y] * 2, color=INK, linewidth=1.6, solid_capstyle="butt")
    if note.index == index:
        plot.plot([begun], [NOTE_Y], marker="o", color=INK, markersize=5.5, zorder=3)


def _bracketed(count: str, kind: Kind) -> str:
    return {Kind.SILENT: f"({count})", Kind.HELD: f"[{count}]"}.get(kind, count)


def _name(plot: "Axes", name: str) -> None:
    plot.text(
        -0.012, 0.55, name, transform=plot.transAxes, ha="right", va="center", fontweight="bold"
    )


def _style(mark: Mark) -> dict[str, Any]:
    return {
        "marker": mark.shape,
        "markersize": mark.size,
        "markeredgecolor": mark.colour,
        "markerfacecolor": mark.colour if mark.filled else "none",
        "markeredgewidth": 1.3,
    }
