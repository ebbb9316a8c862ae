"""The picture of a beat map: the wave of the recording, its beats, and below them the doubt.

The recording runs in rows, like lines of music.  A bar's first beat is a long line with the bar's
number, another beat a short one.  In the lane under the wave a beat's standard error is drawn twice
over: as wide as it is in seconds, and as high as it is in tenths of a second.  Bars to hear first
have their lane shaded.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.report.maps.text import Mapped, clock
from rhythmtrain.report.take.picture_rows import INK, PALE
from rhythmtrain.timing.beatmap import MappedBeat

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PICTURE_ENDINGS = (".png", ".svg", ".pdf")
ROW_S, MOST_ROWS = 15.0, 40
AROUND_S = 1.0
WIDE_IN, ROW_IN, HEAD_IN = 10.0, 1.25, 0.45
DOTS_AN_INCH = 110
TEXT, SMALL = 8.0, 7.0
WAVE, DOUBT, SHADE = "#b9b9b9", "#0072b2", "#f0e7c8"
# Of a row's height: the wave is around 0, the lane of doubt below it.
TOP, LANE_TOP, LANE_LOW = 1.15, -1.15, -2.0
DOUBT_FULL_S = 0.2
LOUD = 99.5

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Wave:
    """The lowest and highest sample of every ``step_s`` seconds of a recording."""

    low: Floats
    high: Floats
    step_s: float


def checked_ending(ending: str) -> str:
    """Return the kind of picture that a file's ``ending`` names; RequestError for another."""
    if ending.lower() not in PICTURE_ENDINGS:
        allowed = ", ".join(PICTURE_ENDINGS)
        raise RequestError(f"a picture ends in {allowed}, not {ending or 'nothing'!r}")
    return ending.lower().removeprefix(".")


def map_picture(mapped: Mapped, wave: Wave, *, kind: str) -> bytes:
    """Return the picture as a file of ``kind`` "png", "svg" or "pdf"."""
    from matplotlib import rc_context  # noqa: PLC0415  (loaded when a picture is drawn)
    from matplotlib.figure import Figure  # noqa: PLC0415

    starts, row_s = _rows(mapped)
    wave = _filling(wave, (starts[0], starts[-1] + row_s))
    style: dict[Any, Any] = {"svg.hashsalt": "rhythmtrain", "font.size": TEXT}
    high = HEAD_IN + ROW_IN * len(starts)
    with rc_context(style):
        figure = Figure(figsize=(WIDE_IN, high), dpi=DOTS_AN_INCH)
        figure.text(0.01, 1 - 0.25 / high, _head(mapped), va="center", fontsize=TEXT + 1)
        for number, start_s in enumerate(starts):
            bottom = 1 - (HEAD_IN + ROW_IN * (number + 1)) / high
            plot = figure.add_axes((0.06, bottom, 0.93, 0.92 * ROW_IN / high))
            plot.axis("off")
            plot.set_xlim(start_s, start_s + row_s)
            plot.set_ylim(LANE_LOW, TOP + 0.45)
            _draw_row(plot, mapped, wave, (start_s, start_s + row_s))
        file = BytesIO()
        dated = {} if kind == "png" else {"CreationDate" if kind == "pdf" else "Date": None}
        figure.savefig(file, format=kind, metadata=dated)
    return file.getvalue()


def _rows(mapped: Mapped) -> tuple[list[float], float]:
    """Return where rows begin, in seconds, and how long each is."""
    beats = mapped.beat_map.beats
    first = max(beats[0].time_s - AROUND_S, 0.0)
    length = min(beats[-1].time_s + AROUND_S, mapped.duration_s) - first
    row_s = max(ROW_S, length / MOST_ROWS)
    return [first + row_s * row for row in range(max(int(np.ceil(length / row_s)), 1))], row_s


def _filling(wave: Wave, span: tuple[float, float]) -> Wave:
    """Return ``wave`` with what is loud within ``span`` filling the height of a row."""
    part = slice(int(span[0] / wave.step_s), int(span[1] / wave.step_s) + 1)
    loud = np.maximum(-wave.low[part], wave.high[part])
    scale = 1 / max(float(np.percentile(loud, LOUD)), 1e-9)
    low, high = (np.clip(scale * edge, -1, 1) for edge in (wave.low, wave.high))
    return Wave(low, high, wave.step_s)


def _head(mapped: Mapped) -> str:
    first, last = mapped.beat_map.bars
    return (
        f"{mapped.recording}, bars {first} to {last} in {mapped.metre}.   Lane: how far each beat "
        f"may lie beside its place, full height {1000 * DOUBT_FULL_S:.0f} ms; shaded: bars to hear "
        "first."
    )


def _draw_row(plot: "Axes", mapped: Mapped, wave: Wave, span: tuple[float, float]) -> None:
    start_s, stop_s = span
    part = slice(int(start_s / wave.step_s), int(np.ceil(stop_s / wave.step_s)))
    low, high = wave.low[part], wave.high[part]
    times = (np.arange(low.size) + part.start + 0.5) * wave.step_s
    plot.fill_between(times, low, high, color=WAVE, linewidth=0)
    plot.text(start_s, 0, f"{clock(start_s)} ", ha="right", va="center", color=PALE)
    plot.plot(span, (LANE_TOP, LANE_TOP), color=WAVE, linewidth=0.5)
    beats = [beat for beat in mapped.beat_map.beats if start_s <= beat.time_s < stop_s]
    _shade(plot, mapped, span)
    _draw_doubt(plot, beats)
    for beats_of, tall, width in (
        ([beat for beat in beats if beat.beat == 1], TOP, 0.9),
        ([beat for beat in beats if beat.beat != 1], 0.55, 0.5),
    ):
        at = [beat.time_s for beat in beats_of]
        plot.vlines(at, LANE_TOP, tall, color=INK, linewidth=width)
    for beat in beats:
        if beat.beat == 1:
            plot.text(beat.time_s, TOP + 0.05, str(beat.bar), ha="center", fontsize=SMALL)


def _draw_doubt(plot: "Axes", beats: Sequence[MappedBeat]) -> None:
    """Draw each beat's standard error, downwards from the lane's upper edge."""
    for beat in beats:
        unsure = beat.uncertainty_s or 0.0
        deep = (LANE_TOP - LANE_LOW) * min(unsure / DOUBT_FULL_S, 1.0)
        plot.bar(
            beat.time_s, -deep, width=max(2 * unsure, 0.01), bottom=LANE_TOP, color=DOUBT, alpha=0.7
        )


def _shade(plot: "Axes", mapped: Mapped, span: tuple[float, float]) -> None:
    beats = mapped.beat_map.beats
    for bar in mapped.unsure_bars:
        inside = [beat.time_s for beat in beats if beat.bar == bar]
        after = [beat.time_s for beat in beats if beat.bar == bar + 1]
        edge = after[0] if after else inside[-1] + AROUND_S / 2
        left, right = max(inside[0], span[0]), min(edge, span[1])
        if left < right:
            plot.fill_between((left, right), LANE_LOW, LANE_TOP, color=SHADE, linewidth=0)
