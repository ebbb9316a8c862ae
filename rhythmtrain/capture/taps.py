"""Taps on keys or pads become a take in track time.

A tap's time goes through the clock model; then the stored sound delay is taken off, because a
player who taps exactly with what is heard taps that much after the frame was handed out.  How far
an onset may be off combines the model, the stamp and the delay, which do not know each other: the
root of the sum of squares.

What went down, and how long it was held, is told by ``presses``.  Notes struck within ``CHORD_S``
of each other are one onset, as in a MIDI take.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from rhythmtrain.capture.clock import ClockModel
from rhythmtrain.capture.presses import Press, Touch, presses
from rhythmtrain.capture.take import Heard, Take

CHORD_S = 0.025
HIDDEN_EVERY_S = 0.03


@dataclass(frozen=True, slots=True)
class TapPath:
    """How taps reach track time: what kind of source, and what is known of its errors.

    ``delay_s`` is the stored sound delay, taken off every tap; ``delay_error_s`` how well it is
    known; ``stamp_error_s`` how far a single stamp may be off.
    """

    source: str
    name: str
    stamp_error_s: float = 0.0
    delay_s: float = 0.0
    delay_error_s: float = 0.0


def take_of_taps(
    touches: Iterable[Touch], model: ClockModel, path: TapPath, *, duration_s: float
) -> Take:
    """Return the take that ``touches`` make, in track time; ``duration_s`` is the track's.

    Strength is the velocity where one is known, else 0.  What was tapped while the sound stood
    still lies nobody knows where: it is left out, and its time is hidden.
    """
    unsure_s = math.hypot(model.error_s, path.stamp_error_s, path.delay_error_s)
    heard = tuple(
        Heard(time_s - path.delay_s, float(press.velocity or 0), unsure_s, press.length_s)
        for press in struck(presses(touches))
        for time_s in [model.track_seconds(press.time_s)]
        if not any(first <= time_s <= last for first, last in model.stood_s)
    )
    hidden = tuple(each - path.delay_s for span in model.stood_s for each in _filled(span))
    whole_s = max([duration_s, *(each.time_s for each in heard)])
    return Take(path.source, path.name, heard, whole_s, hidden)


def _filled(span: tuple[float, float]) -> list[float]:
    """Return times that fill ``span``, no further than ``HIDDEN_EVERY_S`` apart."""
    first, last = span
    count = 1 + math.ceil((last - first) / HIDDEN_EVERY_S)
    return [first + (last - first) * each / count for each in range(count + 1)]


def struck(pressed: Iterable[Press]) -> tuple[Press, ...]:
    """Return one press for all that were struck together: the first, as long as the longest."""
    kept: list[Press] = []
    for press in pressed:
        if not kept or press.time_s - kept[-1].time_s > CHORD_S:
            kept.append(press)
        else:
            kept[-1] = replace(kept[-1], length_s=_until_both_ended(kept[-1], press))
    return tuple(kept)


def _until_both_ended(first: Press, other: Press) -> float | None:
    """Return how long ``first`` or ``other`` was held, counted from the first; None if not known."""
    if first.length_s is None or other.length_s is None:
        return None
    return max(first.length_s, other.time_s + other.length_s - first.time_s)
