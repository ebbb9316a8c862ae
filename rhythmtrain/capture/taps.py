"""Taps on keys or pads become a take in track time.

A tap's time goes through the clock model; then the stored sound delay is taken off, because a
player who taps exactly with what is heard taps that much after the frame was handed out.  How far
an onset may be off combines the model, the stamp and the delay, which do not know each other: the
root of the sum of squares.

Pads and keyboards tell when a note is let go, and so how long it was held.  A terminal does not;
but a key held down repeats itself, 20 to 40 times a second, after a first wait of a quarter to two
thirds of a second.  No finger taps one key so fast (the fastest tapping is about 7 a second), so
such a run is one key that was held until the run ended.  Notes struck within ``CHORD_S`` of each
other are one onset, as in a MIDI take.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Protocol

from rhythmtrain.capture.clock import ClockModel
from rhythmtrain.capture.take import Heard, Take

CHORD_S = 0.025
REPEAT_GAP_S = 0.06
REPEAT_WAIT_S = 0.75
LEAST_REPEATS = 3
HIDDEN_EVERY_S = 0.03


class Touch(Protocol):
    """A key or note going down or up, on the computer's clock."""

    @property
    def time_s(self) -> float:
        """Return when, in seconds of the clock."""
        ...

    @property
    def what(self) -> str:
        """Return which key or note."""
        ...

    @property
    def velocity(self) -> int | None:
        """Return how hard, 1 to 127, where known."""
        ...

    @property
    def released(self) -> bool:
        """Return whether it went up."""
        ...


@dataclass(frozen=True, slots=True)
class Press:
    """A key or note that went down at ``time_s``, held for ``length_s`` where known."""

    time_s: float
    what: str
    velocity: int | None = None
    length_s: float | None = None


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


def presses(touches: Iterable[Touch]) -> tuple[Press, ...]:
    """Return what went down, in order of time, with how long it was held where that is known."""
    ordered = sorted(touches, key=lambda touch: touch.time_s)
    found: list[Press] = []
    for key in dict.fromkeys(touch.what for touch in ordered):
        mine = [touch for touch in ordered if touch.what == key]
        told = any(touch.released for touch in mine)
        found += _with_releases(mine) if told else _without_repeats(mine)
    return tuple(sorted(found, key=lambda press: press.time_s))


def struck(pressed: Iterable[Press]) -> tuple[Press, ...]:
    """Return one press for all that were struck together: the first."""
    kept: list[Press] = []
    for press in pressed:
        if not kept or press.time_s - kept[-1].time_s > CHORD_S:
            kept.append(press)
    return tuple(kept)


def _with_releases(touches: Sequence[Touch]) -> list[Press]:
    """Return the presses of one key; a press ends at the next touch of that key."""
    found = []
    for touch, after in zip(touches, [*touches[1:], None], strict=True):
        if not touch.released:
            length_s = after.time_s - touch.time_s if after is not None else None
            found.append(Press(touch.time_s, touch.what, touch.velocity, length_s))
    return found


def _without_repeats(touches: Sequence[Touch]) -> list[Press]:
    """Return the presses of one key that tells no releases, each run of repeats as one hold."""
    found: list[Press] = []
    for run in _runs(touches):
        first, last = run[0], run[-1]
        if len(run) < LEAST_REPEATS:
            found += [Press(touch.time_s, touch.what, touch.velocity) for touch in run]
            continue
        begun = found[-1].time_s if found else -math.inf
        if found and found[-1].length_s is None and first.time_s - begun <= REPEAT_WAIT_S:
            found.pop()
        else:
            begun = first.time_s
        found.append(Press(begun, first.what, first.velocity, last.time_s - begun))
    return found


def _runs(touches: Sequence[Touch]) -> list[list[Touch]]:
    """Return the touches in runs, a new run at every gap longer than a key's own repeating."""
    runs: list[list[Touch]] = []
    for touch in touches:
        if runs and touch.time_s - runs[-1][-1].time_s <= REPEAT_GAP_S:
            runs[-1].append(touch)
        else:
            runs.append([touch])
    return runs
