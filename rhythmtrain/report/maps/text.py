"""A beat map, said to a person: what it covers, how sure it is, and which bars to hear first."""

from dataclasses import dataclass
from typing import Any

from rhythmtrain.report.lines import hanging
from rhythmtrain.report.take.commands import typed
from rhythmtrain.report.words import milliseconds, several
from rhythmtrain.timing.beatmap import BeatMap

SURE_S = 0.03
MOST_NAMED = 6
# A tapping habit of less than this is not worth a line.
SPOKEN_BIAS_S = 0.015


@dataclass(frozen=True, slots=True)
class Mapped:
    """A beat map and what is told beside it.

    ``unsure_bars`` begin with the least certain; ``bias_s`` is how late the taps were (None
    without taps); ``music_s`` are the seconds between which music was heard.
    """

    recording: str
    duration_s: float
    metre: str
    beat_map: BeatMap
    unsure_bars: tuple[int, ...]
    bias_s: float | None
    music_s: tuple[float, float]


def map_text(mapped: Mapped, *, kept_in: str | None = None) -> str:
    """Return what was mapped, how sure it is, and what to do next.

    ``kept_in`` is the file that keeps the map and the help it came from.
    """
    beats = mapped.beat_map.beats
    first, last = mapped.beat_map.bars
    bars = f"bar {first}" if first == last else f"bars {first} to {last}"
    unsure = [beat.uncertainty_s or 0.0 for beat in beats]
    sure = sum(each <= SURE_S for each in unsure)
    middle = sorted(unsure)[len(unsure) // 2]
    lines = [
        (
            f"{mapped.recording}: {bars} in {mapped.metre}, {several(len(beats), 'beat')}, "
            f"{clock(beats[0].time_s)} to {clock(beats[-1].time_s)}; music from "
            f"{clock(mapped.music_s[0])} to {clock(mapped.music_s[1])}."
        ),
        (
            f"Half of the beats are known to {milliseconds(middle)} or better, and {sure} of "
            f"{len(beats)} to {milliseconds(SURE_S)}."
        ),
    ]
    lines += _habit(mapped.bias_s)
    lines.append(_first_to_hear(mapped, kept_in))
    return "\n".join(hanging("", line, indent=0) for line in lines)


def map_document(mapped: Mapped) -> dict[str, Any]:
    """Return the map for programs."""
    return {
        "recording": mapped.recording,
        "duration_s": mapped.duration_s,
        "beats": [
            {
                "time_s": beat.time_s,
                "bar": beat.bar,
                "beat": beat.beat,
                "uncertainty_s": beat.uncertainty_s,
            }
            for beat in mapped.beat_map.beats
        ],
        "unsure_bars": list(mapped.unsure_bars),
    }


def clock(seconds: float) -> str:
    """Return a second of a recording as a player shows it: "1:32.4"."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths % 600 / 10:04.1f}"


def _habit(bias_s: float | None) -> list[str]:
    if bias_s is None or abs(bias_s) < SPOKEN_BIAS_S:
        return []
    side = "after" if bias_s > 0 else "before"
    said = f"Your taps lie about {milliseconds(abs(bias_s))} {side} the notes"
    return [f"{said}, as everybody's lie beside them somewhere; that was taken out."]


def _first_to_hear(mapped: Mapped, kept_in: str | None) -> str:
    by_ear = "write the recording with clicks on its beats (--listen check.flac) and hear"
    if not mapped.unsure_bars:
        return f"No bar is in doubt. A miscount is found by ear at once: {by_ear} the last bars."
    bars = mapped.unsure_bars[:MOST_NAMED]
    named = ", ".join(f"{bar} ({clock(_start_of(mapped.beat_map, bar))})" for bar in bars)
    more = len(mapped.unsure_bars) - len(bars)
    rest = f", and {several(more, 'more bar')} after these" if more else ""
    second = _start_of(mapped.beat_map, bars[0])
    again = f"--again {typed(kept_in)} " if kept_in else ""
    return (
        f"Hear these bars first: {named}{rest}. To do so, {by_ear} them; where the clicks are "
        f"beside the beat, say where the bar begins ({again}--at {bars[0]}={second:.2f}) and map again."
    )


def _start_of(beat_map: BeatMap, bar: int) -> float:
    return next(beat.time_s for beat in beat_map.beats if beat.bar == bar)
