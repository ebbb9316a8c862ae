"""A beat map, said to a person: what it covers, how sure it is, and which bars to hear first."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from rhythmtrain.report.lines import hanging
from rhythmtrain.report.take.commands import typed
from rhythmtrain.report.words import milliseconds, several
from rhythmtrain.timing.beatmap import BeatMap

SURE_S, DOUBTFUL_S = 0.03, 0.1
MOST_NAMED = 6
# From so many bars in doubt on, if they are most of all, hearing one after the other is no help.
MANY_BARS = 12
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


def map_text(mapped: Mapped, *, kept_in: str | None = None, asked: Sequence[str] = ()) -> str:
    """Return what was mapped, how sure it is, and what to do next.

    ``kept_in`` is the file that keeps the map and the help it came from.  ``asked`` is what to make
    sure of first: while bars are counted wrongly, hearing single ones is wasted.
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
        _how_sure(middle, sure, len(beats)),
    ]
    lines += _habit(mapped.bias_s)
    lines += asked
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


def mostly_in_doubt(doubtful: int, bars: int) -> bool:
    """Return whether so many of the bars are in doubt that a mark is wanted before any is heard."""
    return doubtful >= MANY_BARS and 2 * doubtful > bars


def clock(seconds: float) -> str:
    """Return a second of a recording as a player shows it: "1:32.4"."""
    tenths = round(seconds * 10)
    return f"{tenths // 600}:{tenths % 600 / 10:04.1f}"


def _how_sure(middle_s: float, sure: int, beats: int) -> str:
    """Return how sure the map is, from the middle beat and how many are surely placed."""
    if middle_s > DOUBTFUL_S:
        return (
            f"Half of the beats may lie {middle_s:.1f} s beside their place or more; {sure} of "
            f"{beats} are known to {milliseconds(SURE_S)}."
        )
    return (
        f"Half of the beats are known to {milliseconds(middle_s)} or better, and {sure} of {beats} "
        f"to {milliseconds(SURE_S)}."
    )


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
    place, second, what = _to_say(mapped.beat_map, bars[0])
    again = f"--again {typed(kept_in)} " if kept_in else ""
    asked = f"say where {what} ({again}--at {place}={second:.2f}) and map again"
    first, last = mapped.beat_map.bars
    doubtful, whole = len(mapped.unsure_bars), last - first + 1
    if mostly_in_doubt(doubtful, whole):
        return (
            f"{doubtful} of {whole} bars are in doubt. Begin with bar {bars[0]} "
            f"({clock(_start_of(mapped.beat_map, bars[0]))}), because a mark there settles most: "
            f"{by_ear} it, {asked}. What is left is said then; beats tapped all through leave "
            "hardly a doubt."
        )
    named = ", ".join(f"{bar} ({clock(_start_of(mapped.beat_map, bar))})" for bar in bars)
    rest = f", and {several(doubtful - len(bars), 'more bar')} after these" * (doubtful > len(bars))
    return (
        f"Hear these bars first: {named}{rest}. To do so, {by_ear} them; where the clicks are "
        f"beside the beat, {asked}."
    )


def _to_say(beat_map: BeatMap, bar: int) -> tuple[str, float, str]:
    """Return the place of ``bar`` that a person should mark, its second, and what falls there.

    That is where it begins; where its first beat is sure already, its least certain one.
    """
    inside = [beat for beat in beat_map.beats if beat.bar == bar]
    least = max(inside, key=lambda beat: beat.uncertainty_s or 0.0)
    if least is inside[0] or (inside[0].uncertainty_s or 0.0) > SURE_S:
        return str(bar), inside[0].time_s, "the bar begins"
    return least.name, least.time_s, f"its beat {least.beat} falls"


def _start_of(beat_map: BeatMap, bar: int) -> float:
    return next(beat.time_s for beat in beat_map.beats if beat.bar == bar)
