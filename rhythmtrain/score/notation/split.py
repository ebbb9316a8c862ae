"""One length cut into the signs that it is written with, so that the beats can be seen."""

from collections.abc import Iterator
from fractions import Fraction

from rhythmtrain.score.counts import beat_at
from rhythmtrain.score.metre import Beat, Metre
from rhythmtrain.score.notation.signs import longest_within, value_of
from rhythmtrain.score.notation.tuplets import Tuplet

BEATS_WITH_A_MIDDLE = 4
Span = tuple[Fraction, Fraction]


def split(
    metre: Metre, start: Fraction, stop: Fraction, *, rest: bool, tuplet: Tuplet | None
) -> Iterator[Span]:
    """Yield (start, stop) of the signs from ``start`` to ``stop`` quarters into a bar."""
    while start < stop:
        end = _in_tuplet(start, stop, tuplet) if tuplet else _end(metre, start, stop, rest=rest)
        yield start, end
        start = end


def _in_tuplet(start: Fraction, stop: Fraction, tuplet: Tuplet) -> Fraction:
    """Return where the first sign ends, inside a tuplet."""
    printed = (stop - start) * tuplet.ratio
    if value_of(printed):
        return stop
    longest = longest_within(printed)
    return stop if longest > printed else start + longest / tuplet.ratio


def _end(metre: Metre, start: Fraction, stop: Fraction, *, rest: bool) -> Fraction:
    """Return where the first sign of a length ends."""
    fits = _rest_fits if rest else _note_fits
    if value_of(stop - start) and fits(metre, start, stop):
        return stop
    turns = [beat.start for beat in metre.beats if start < beat.start < stop]
    for turn in reversed(turns):
        if value_of(turn - start) and fits(metre, start, turn):
            return turn
    if turns:
        return _inside(metre, start, turns[0], rest=rest)
    return _inside(metre, start, stop, rest=rest)


def _inside(metre: Metre, start: Fraction, stop: Fraction, *, rest: bool) -> Fraction:
    """Return where the first sign ends of a length that stays inside one beat."""
    if value_of(stop - start) and (not rest or _aligned(metre, start, stop)):
        return stop
    value = longest_within(stop - start)
    if not rest:
        return min(stop, start + value)
    beat = _beat(metre, start)
    # A rest fills up what is begun first: the sixteenth before the eighth.
    while (start - beat.start) % value:
        value /= 2
        if value.denominator > 1 << 10:
            return stop
    return min(stop, start + value)


def _note_fits(metre: Metre, start: Fraction, stop: Fraction) -> bool:
    """Return whether one sign may stand for a note from ``start`` to ``stop``."""
    first = _beat(metre, start)
    if stop <= first.start + first.length:
        return True
    if start == first.start:
        return _on_beat(metre, stop) or (first.simple and _half_way(metre, stop))
    even = all(beat.length == first.length for beat in metre.beats)
    syncopation = first.simple and stop - start == first.length and _half_way(metre, start)
    return even and syncopation and not _hides_middle(metre, start, stop)


def _rest_fits(metre: Metre, start: Fraction, stop: Fraction) -> bool:
    """Return whether one rest may stand there: inside a beat, or for beats that go in pairs."""
    first = _beat(metre, start)
    if stop <= first.start + first.length:
        return _aligned(metre, start, stop)
    plain, dots = value_of(stop - start) or (Fraction(0), 0)
    whole_beats = start == first.start and _on_beat(metre, stop)
    return whole_beats and not dots and not _hides_middle(metre, start, stop) and not start % plain


def _aligned(metre: Metre, start: Fraction, stop: Fraction) -> bool:
    """Return whether a rest inside a beat lies where its own value is counted off."""
    beat = _beat(metre, start)
    if start == beat.start and stop == beat.start + beat.length:
        return True
    plain, dots = value_of(stop - start) or (Fraction(0), 1)
    return not dots and not (start - beat.start) % plain


def _hides_middle(metre: Metre, start: Fraction, stop: Fraction) -> bool:
    beats = metre.beats
    if len(beats) != BEATS_WITH_A_MIDDLE:
        return False
    middle = beats[2].start
    return start < middle < stop and (start, stop) != (Fraction(0), metre.length)


def _half_way(metre: Metre, at: Fraction) -> bool:
    beat = _beat(metre, at)
    return 2 * (at - beat.start) == beat.length


def _on_beat(metre: Metre, at: Fraction) -> bool:
    return at == metre.length or any(beat.start == at for beat in metre.beats)


def _beat(metre: Metre, at: Fraction) -> Beat:
    return metre.beats[beat_at(metre, at)]
