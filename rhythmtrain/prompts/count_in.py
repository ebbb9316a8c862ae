"""The count-in, and counted bars between runs: every beat aloud, up to the upbeat.

The quick count-in "one, two, one-two-three-four" says the first of its bars in halves and the
others whole.  In other metres the first bar's halves are its groups where it has several (5/8 as
3+2: "one, two"), its two halves where it has four or more beats of an even number, and the whole
bar ("one") elsewhere, as in a waltz.
"""

from collections.abc import Iterator
from fractions import Fraction

from rhythmtrain.prompts.clicks import group_starts
from rhythmtrain.prompts.spots import Spot, beats_of
from rhythmtrain.score.metre import Metre
from rhythmtrain.timing.timeline import Role, Timeline

FEWEST_TO_HALVE = 4


def counted(timeline: Timeline, place: int, *, quick: bool) -> Iterator[tuple[Spot, str]]:
    """Yield (spot, word) of the counted bar at ``place`` of the timeline."""
    played = timeline.bars[place]
    if quick and _opens_count_in(timeline, place):
        for number, into in enumerate(halves(played.bar.metre), start=1):
            yield Spot(place, played, into), str(number)
        return
    for spot in beats_of(place, played):
        yield spot, spot.count


def halves(metre: Metre) -> tuple[Fraction, ...]:
    """Return where the slow counts of a quick count-in's first bar fall, in quarters."""
    starts = tuple(beat.start for beat in metre.beats)
    if len(metre.groups) > 1:
        return tuple(sorted(group_starts(metre)))
    if len(starts) >= FEWEST_TO_HALVE and len(starts) % 2 == 0:
        return (starts[0], starts[len(starts) // 2])
    return starts[:1]


def _opens_count_in(timeline: Timeline, place: int) -> bool:
    bars = timeline.bars
    opens = place == 0 and bars[0].role is Role.COUNT_IN
    return opens and len(bars) > 1 and bars[1].role is Role.COUNT_IN
