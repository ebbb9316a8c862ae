"""A gap to the sample: where one prediction of the loudspeaker begins to fit better than another.

With the way from loudspeaker to microphone as it was before the gap, what is heard after it is
predicted, and laid by a whole number of samples where it is likest.  Then both predictions, as
before and as after, are held against what is heard all over the place where the gap may lie: it is
where what both leave, the one up to there and the other from there on, is least.  How sure that is
is told by how fast that grows beside it: where the track is silent nobody can tell, and nobody
needs to.
"""

from dataclasses import replace

import numpy as np

from rhythmtrain.hearing.bleed.bleed import cleared
from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.bleed.delay import SoundDelay
from rhythmtrain.hearing.gaps.gaps import Gap
from rhythmtrain.hearing.live.way import Way, Window, likest, way_of

AFTER_S = 4.0
REACH_S = 0.002
CELL_S = 0.002
TELLING, UNSURE = 3.0, 6.0
TINY = 1e-12


def placed(
    gap: Gap, sound: Sound, track: Sound, rate: int, *, before: SoundDelay, begin: int
) -> Gap:
    """Return ``gap``, whose jump is known to a millisecond, to the sample.

    ``before`` is the delay of ``track`` in ``sound`` from frame ``begin`` of both to the gap.
    """
    stretch = list(cleared(sound[begin : gap.first], track[begin:], rate, before))[-1]
    way = _counted_from(way_of(stretch, rate), begin)
    moved = replace(way, delay_s=way.delay_s + gap.late / rate)
    after = Window(sound[gap.stop : gap.stop + round(AFTER_S * rate)], gap.stop, track, 0, rate)
    late = gap.late + likest(after.heard, after.bleed(moved, after.inputs(moved)), rate, REACH_S)
    moved = replace(way, delay_s=way.delay_s + late / rate)
    there = Window(sound[gap.first : gap.stop], gap.first, track, 0, rate)
    left = [there.heard - there.bleed(each, there.inputs(each)) for each in (way, moved)]
    first, at, stop = _edge(left[0], left[1], rate)
    return replace(
        gap, first=gap.first + first, at=gap.first + at, stop=gap.first + stop, late=late
    )


def _counted_from(way: Way, begin: int) -> Way:
    """Return ``way``, whose frames were counted from ``begin``, with frames counted from 0."""
    return replace(way, delay_s=way.delay_s - way.skew_ppm * 1e-6 * begin / way.rate)


def _edge(one: Sound, other: Sound, rate: int) -> tuple[int, int, int]:
    """Return the frames (least, likeliest, most) from which on ``other`` is softer than ``one``."""
    step = round(CELL_S * rate)
    count = len(one) // step
    powers = np.array(
        [
            np.square(each[: count * step], dtype=np.float64).reshape(count, step).mean(axis=1)
            for each in (one, other)
        ]
    )
    usual = max(float(np.median(powers.min(axis=0))), TINY)
    worse = TELLING * np.log((powers[0] + usual) / (powers[1] + usual))
    cost = np.concatenate([[0.0], np.cumsum(worse)])
    unsure = np.flatnonzero(cost <= cost.min() + UNSURE)
    likely = int(cost.argmin())
    return int(unsure[0]) * step, likely * step, min(int(unsure[-1]) * step, len(one))
