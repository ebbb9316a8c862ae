"""The bars of a MIDI file: where its time signatures put the bar lines, and how fast each goes.

A time signature that comes inside a bar cuts it short; the short bar gets a metre of its own length.
A first bar shorter than those after it is an upbeat, and has the number 0.  A passage tells its
tempo bar by bar, so a bar in which the tempo changes is told in pieces, each as fast as the file is
between the two places: every note falls at the second at which the file has it.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.errors import FileError
from rhythmtrain.score.metre import LOWER_NUMBERS, Metre
from rhythmtrain.score.midi.clock import MidiClock
from rhythmtrain.score.passage import MOST_BARS

FOUR_FOUR = Metre((4,), 4)
# A speed that differs by less than a millionth is the same: tempi are whole microseconds.
SAME_SPEED = 1e-6


@dataclass(frozen=True, slots=True)
class MidiBar:
    """One bar: where it starts, in quarters from tick 0, its metre, and its first count's place."""

    number: int
    start: Fraction
    metre: Metre
    begins: Fraction = Fraction(0)

    @property
    def stop(self) -> Fraction:
        """Return where the bar ends, in quarters from tick 0."""
        return self.start + self.metre.length - self.begins


def midi_bars(
    metres: Iterable[tuple[Fraction, Metre]], until: Fraction, *, name: str
) -> tuple[MidiBar, ...]:
    """Return the bars that fill the time from 0 to ``until``; ``metres`` are (quarter, metre).

    Raises:
        FileError: more bars than a passage has.
    """
    changes = {Fraction(0): FOUR_FOUR}
    changes |= {_writable(at): metre for at, metre in metres if at < until}
    starts = sorted(changes)
    bars: list[MidiBar] = []
    for start, stop in zip(starts, [*starts[1:], None], strict=True):
        metre, at = changes[start], start
        while at < (until if stop is None else stop):
            if len(bars) >= MOST_BARS:
                raise FileError(f"{name} has more than {MOST_BARS} bars: is it one piece of music?")
            length = metre.length if stop is None else min(metre.length, stop - at)
            whole = length == metre.length
            bars.append(MidiBar(len(bars) + 1, at, metre if whole else _short(length)))
            at += length
    return _with_upbeat(bars)


def bar_speeds(
    bar: MidiBar, clock: MidiClock, onsets: Iterable[Fraction]
) -> list[tuple[Fraction, Fraction, float]]:
    """Return the pieces of ``bar``: (start, stop, quarters a minute), times from tick 0.

    ``onsets`` are the notes in it; there is one piece unless the tempo changes inside the bar.
    """
    steady = clock.steady(bar.start, bar.stop)
    if steady is not None:
        return [(bar.start, bar.stop, steady)]
    beats = (bar.start - bar.begins + beat.start for beat in bar.metre.beats)
    inside = {at for at in (*beats, *onsets) if bar.start < at < bar.stop}
    pieces: list[tuple[Fraction, Fraction, float]] = []
    for start, stop in pairwise(sorted({bar.start, bar.stop} | inside)):
        speed = float((stop - start) * 60 / (clock.second_at(stop) - clock.second_at(start)))
        if pieces and abs(speed / pieces[-1][2] - 1) < SAME_SPEED:
            pieces[-1] = (pieces[-1][0], stop, pieces[-1][2])
        else:
            pieces.append((start, stop, speed))
    return pieces


def _writable(at: Fraction) -> Fraction:
    """Return the nearest place at which a bar can end: a multiple of a thirty-second."""
    return Fraction(round(at * 8), 8)


def _short(length: Fraction) -> Metre:
    """Return the metre of a bar ``length`` quarters long, a multiple of a thirty-second."""
    for unit in LOWER_NUMBERS[2:]:
        upper = length * unit / 4
        if upper.denominator == 1:
            return Metre((int(upper),), unit)
    return FOUR_FOUR


def _with_upbeat(bars: list[MidiBar]) -> tuple[MidiBar, ...]:
    """Return the bars with a short first one as an upbeat in the metre of the second."""
    if len(bars) == 1 or bars[0].metre.length >= bars[1].metre.length:
        return tuple(bars)
    first, metre = bars[0], bars[1].metre
    upbeat = MidiBar(0, first.start, metre, metre.length - first.metre.length)
    return (upbeat, *(MidiBar(bar.number - 1, bar.start, bar.metre) for bar in bars[1:]))
