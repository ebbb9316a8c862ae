"""The click: the downbeat distinct, the beats, and what lies between them.

Where the metre is written in groups (3+2/8) and every number is counted, the first of each group
is a "beat" and the others are "between", so that the ear gets the groups.  Those, like every
click that nobody asked for, are left out where they would come closer than 200 ms: subdividing
clicks help down to 200-250 ms and hinder below (Repp 2003).
"""

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from itertools import accumulate, pairwise

from rhythmtrain.prompts.audible import Audible
from rhythmtrain.prompts.plan import Layer, Prompt
from rhythmtrain.prompts.spots import Spot, prompt_at
from rhythmtrain.score.metre import Metre
from rhythmtrain.timing.timeline import PlayedBar, Timeline

CLOSEST_UNASKED_S = 0.200
ROUNDING_S = 1e-9
DOWNBEAT, BEAT, BETWEEN = "downbeat", "beat", "between"


def clicks(
    timeline: Timeline, audible: tuple[Audible, ...], subdivide: int | None
) -> Iterator[Prompt]:
    """Yield the clicks of every bar in which the click sounds, in order of time."""
    for place, (played, lets) in enumerate(zip(timeline.bars, audible, strict=True)):
        if Layer.CLICK not in lets.layers:
            continue
        whole = pattern(played.bar.metre, subdivide or 1)
        dense = subdivide is not None or _roomy(timeline, played, whole)
        for into, text in whole:
            if played.bar.begins <= into < played.bar.ends and (dense or text != BETWEEN):
                yield prompt_at(timeline, Spot(place, played, into), Layer.CLICK, text)


@cache
def pattern(metre: Metre, subdivide: int) -> tuple[tuple[Fraction, str], ...]:
    """Return (quarters into the bar, "downbeat" | "beat" | "between") for a whole bar.

    Where beats differ in length no number of clicks suits them all; asked to subdivide, they are
    divided into the metre's lower number.
    """
    heads = group_starts(metre)
    found = {}
    equal = len({beat.length for beat in metre.beats}) == 1
    for beat in metre.beats:
        parts = subdivide if equal or subdivide == 1 else int(beat.length * metre.unit / 4)
        for part in range(1, parts):
            found[beat.start + beat.length * part / parts] = BETWEEN
        found[beat.start] = BEAT if beat.start in heads else BETWEEN
    found[Fraction(0)] = DOWNBEAT
    return tuple(sorted(found.items()))


@cache
def group_starts(metre: Metre) -> frozenset[Fraction]:
    """Return where the groups of a bar begin; every beat is one where the metre has no groups."""
    starts = frozenset(beat.start for beat in metre.beats)
    if len(metre.groups) == 1:
        return starts
    groups = accumulate(metre.groups[:-1], initial=0)
    return starts & {Fraction(4 * before, metre.unit) for before in groups}


def _roomy(timeline: Timeline, played: PlayedBar, whole: tuple[tuple[Fraction, str], ...]) -> bool:
    """Tell whether a whole bar's clicks all lie far enough apart."""
    places = [*(into for into, _ in whole), played.bar.metre.length]
    times = [timeline.track_seconds(played.nominal + into) for into in places]
    closest = min(after - before for before, after in pairwise(times))
    return closest >= CLOSEST_UNASKED_S - ROUNDING_S
