"""Published measures of syncopation, on a cycle of equal pulses.

A rhythm is the pulses at which notes begin, in order, in a cycle of ``n`` pulses that comes round
again; pulse 0 is the downbeat.  A note lasts until the next one begins, so rests and held notes
count alike.  Where the cycle is one bar of a longer passage, ``then`` says at which pulse, counted
from the start of this bar, the next bar's first note begins (``n`` or more).

The measures do not agree with each other and are not meant to; none is ever shown to a player.

=======================  ========================================================================
``metric_complexity``    Toussaint 2002, from the weights of the pulses that are struck
``longuet_higgins_lee``  Longuet-Higgins & Lee 1984, strongest-rest reading (see there)
``keith``                Keith 1991, as counted by Toussaint and by Gómez et al. 2005
``keith_weighted``       Keith 1991: hesitation 1, anticipation 2, syncopation 3
``off_beatness``         Toussaint 2005, on the grid as given, never first reduced
``note_to_beat``         WNBD: Gómez, Melvin, Rappaport & Toussaint 2005, both readings
=======================  ========================================================================
"""

from collections.abc import Iterator, Sequence
from enum import Enum
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, gcd

from rhythmtrain.errors import RequestError

Onsets = Sequence[int]
ANTICIPATION, HESITATION = 2, 1


class EndsOnSecondBeat(Enum):
    """What a note weighs that ends exactly on the second beat after it begins (WNBD).

    ``ONCE`` gives the values printed in Gómez et al. 2005; ``TWICE`` is the wording "on or before
    the second beat" taken literally.
    """

    ONCE = 1
    TWICE = 2


def even_levels(divisions: Sequence[int]) -> tuple[tuple[int, ...], ...]:
    """Return the pulses of each metrical level when the cycle is divided again and again.

    ``(2, 2, 2, 2)`` is a bar of 16 pulses: halves, quarters, eighths, sixteenths; ``(2, 3)`` a bar
    of 6/8 in eighths.  The first level is the downbeat alone.
    """
    if any(division < 1 for division in divisions):
        raise RequestError("a metrical level must divide the one above it in 1 or more parts")
    pulses = 1
    for division in divisions:
        pulses *= division
    steps = [pulses]
    for division in divisions:
        steps.append(steps[-1] // division)
    return tuple(tuple(range(0, pulses, step)) for step in steps)


def weights(levels: Sequence[Sequence[int]], pulses: int) -> tuple[int, ...]:
    """Return the metrical weight of each pulse: 0 on the downbeat, one less a level further down.

    Groups of unequal length are levels too: 3+2/8 is ``[(0,), (0, 3), (0, 1, 2, 3, 4)]``.  Pulses
    that no level names lie one below the last level.
    """
    found = [-len(levels)] * pulses
    for depth, level in reversed(list(enumerate(levels))):
        for pulse in level:
            found[pulse] = -depth
    return tuple(found)


def metric_complexity(onsets: Onsets, weight: Sequence[int]) -> int:
    """Return how far the rhythm's weight stays below the greatest for as many notes; 0 or more.

    Toussaint 2002; adding a constant to all weights changes nothing.
    """
    checked(onsets, len(weight))
    return sum(sorted(weight)[len(weight) - len(onsets) :]) - sum(weight[at] for at in onsets)


def longuet_higgins_lee(onsets: Onsets, weight: Sequence[int], *, then: int | None = None) -> int:
    """Return the sum of the strengths of all syncopations; 0 where there are none.

    Longuet-Higgins & Lee 1984.  A note syncopates when a pulse without a note before the next
    note weighs more than its own.  In this *strongest-rest* reading each note counts once, by
    the largest such difference; readings that add up every rest of the rhythm's tree differ
    (rumba 6 instead of 5).
    """
    pulses = len(weight)
    total = 0
    for start, stop in spans(onsets, pulses, then):
        silent = [weight[pulse % pulses] for pulse in range(start + 1, min(stop, start + pulses))]
        total += max(0, max(silent, default=weight[start]) - weight[start])
    return total


def keith(onsets: Onsets, pulses: int, *, then: int | None = None) -> int:
    """Return how many notes begin off the beat of their own length; ``pulses`` a power of 2."""
    return sum(start % value != 0 for start, _, value in _valued(onsets, pulses, then))


def keith_weighted(onsets: Onsets, pulses: int, *, then: int | None = None) -> int:
    """Return Keith's weighted sum; ``pulses`` must be a power of 2.

    The beat of a note is the largest power of 2 not longer than it.  Only its end off that beat is
    a hesitation (1), only its beginning an anticipation (2), both a syncopation (3).
    """
    return sum(
        ANTICIPATION * (start % value != 0) + HESITATION * (stop % value != 0)
        for start, stop, value in _valued(onsets, pulses, then)
    )


def off_beatness(onsets: Onsets, pulses: int) -> int:
    """Return how many notes begin on a pulse that no even division of the cycle can reach.

    Toussaint 2005: pulses that share no divisor with ``pulses``.
    """
    checked(onsets, pulses)
    return sum(pulses > 1 and gcd(at, pulses) == 1 for at in onsets)


def note_to_beat(
    onsets: Onsets,
    pulses: int,
    *,
    beat: int,
    on_second: EndsOnSecondBeat = EndsOnSecondBeat.ONCE,
    then: int | None = None,
) -> Fraction:
    """Return the weighted note-to-beat distance (WNBD) for beats of ``beat`` pulses.

    Gómez et al. 2005.  A note on a beat weighs 0.  Another weighs 1/T, T being the distance in
    beats to the nearest beat, and twice that when it ends after the next beat but before the one
    after; the sum is divided by the number of notes.  The paper's printed values need the default
    for a note that ends exactly on that second beat.
    """
    if beat < 1 or pulses % beat:
        raise RequestError(f"{pulses} pulses cannot be told in beats of {beat}")
    total, notes = Fraction(0), 0
    for start, stop in spans(onsets, pulses, then):
        total += _from_beat(Fraction(start, beat), Fraction(stop, beat), on_second)
        notes += 1
    return total / max(notes, 1)


def checked(onsets: Onsets, pulses: int) -> None:
    """Refuse onsets that are out of order or outside the cycle (RequestError)."""
    if pulses < 1:
        raise RequestError(f"a cycle has at least 1 pulse, got {pulses}")
    if any(b <= a for a, b in pairwise(onsets)):
        raise RequestError("onsets must go forward, each pulse at most once")
    if onsets and not (onsets[0] >= 0 and onsets[-1] < pulses):
        raise RequestError(f"onsets must lie in 0 to {pulses - 1}, got {list(onsets)}")


def spans(onsets: Onsets, pulses: int, then: int | None) -> Iterator[tuple[int, int]]:
    """Yield where each note begins and where the next one does, in pulses."""
    checked(onsets, pulses)
    if not onsets:
        return
    if then is not None and then < pulses:
        raise RequestError(f"the next bar's first note cannot begin before pulse {pulses}")
    yield from pairwise((*onsets, onsets[0] + pulses if then is None else then))


def _valued(onsets: Onsets, pulses: int, then: int | None) -> Iterator[tuple[int, int, int]]:
    if pulses & (pulses - 1):
        raise RequestError(f"Keith's rule needs a power of 2 of pulses, got {pulses}")
    for start, stop in spans(onsets, pulses, then):
        yield start, stop, 1 << ((stop - start).bit_length() - 1)


def _from_beat(start: Fraction, stop: Fraction, on_second: EndsOnSecondBeat) -> Fraction:
    if start.denominator == 1:
        return Fraction(0)
    distance = min(start - floor(start), ceil(start) - start)
    second = ceil(start) + 1
    if stop == second:
        return on_second.value / distance
    return (2 if ceil(start) < stop < second else 1) / distance
