"""The screen while a recording plays and a person taps its beats."""

from dataclasses import dataclass

from rhythmtrain.report.maps.text import clock
from rhythmtrain.report.words import several

CARE = "Start quiet, keep it low with headphones; rest often, stop when it hurts."
HOW_TO = {
    "keys": "Any key is a tap: the space bar is a good one.",
    "midi": "Tap on one pad or key.",
}
ENOUGH = "That is all of them."


@dataclass(frozen=True, slots=True)
class Tapping:
    """What is tapped: the recording and where it begins, and the bars, ``beats_a_bar`` each.

    ``beats`` is how many there are to tap, None where one goes on as long as one likes.
    """

    recording: str
    start_s: float
    first_bar: int
    beats_a_bar: int
    beats: int | None
    source: str = "keys"


def tapping_lines(tapping: Tapping, now_s: float, taps: int, *, columns: int) -> tuple[str, ...]:
    """Return what is drawn at second ``now_s`` of the recording, after ``taps`` taps."""
    last = tapping.first_bar + (tapping.beats or 0) // tapping.beats_a_bar - 1
    what = f"bars {tapping.first_bar} to {last}, every beat" if tapping.beats else "every beat"
    lines = (
        f"{tapping.recording} from {clock(tapping.start_s)}",
        f"Tap {what}, from beat 1 of bar {tapping.first_bar} on.",
        "",
        f"   {clock(now_s)}",
        f"   {_reached(tapping, taps)}",
        "",
        HOW_TO.get(tapping.source, ""),
        "Escape stops; what was tapped until then is used.",
        CARE,
    )
    return tuple(line[:columns] for line in lines)


def _reached(tapping: Tapping, taps: int) -> str:
    if not taps:
        return f"listen, and begin with bar {tapping.first_bar}"
    if tapping.beats is not None and taps >= tapping.beats:
        return ENOUGH
    bar, beat = divmod(taps - 1, tapping.beats_a_bar)
    tapped = f"{taps} of {tapping.beats} beats" if tapping.beats else several(taps, "beat")
    return f"bar {tapping.first_bar + bar}, beat {beat + 1}   ({tapped})"
