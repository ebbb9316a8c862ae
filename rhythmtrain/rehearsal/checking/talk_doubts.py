"""Sounds that may have been put on the wrong side when claps were told from talk.

A clap that is taken for talk leaves a hole that nobody would look for, and a word that is taken for a clap
puts bars before the rhythm.  Neither can be told for sure, so both are told to whoever clapped: of 80 takes
with talk before the claps 5 had lost one clap, each of which is named, and no other sound was
(``tests.simulate.talked_takes``, held out, 6 dB below the claps).
"""

from bisect import bisect_left
from itertools import pairwise

from rhythmtrain.capture.take import Take

SAME_S = 0.05
# Where one sound in ten claps is left out, somebody talks through the claps, and knows it.
FEW = 10
FEWEST_CLAPS = 6
ALONE_S, ALONE_TIMES = 2.0, 2.0


def talk_doubts(claps: Take, every: Take) -> tuple[str, ...]:
    """Return a sentence for what may be a clap, or none: ``every`` is all that was heard of the take."""
    times = claps.times_s
    if len(times) < FEWEST_CLAPS:
        return ()
    return (*_left_out(times, every.times_s), *_alone(times))


def _left_out(claps: tuple[float, ...], every: tuple[float, ...]) -> tuple[str, ...]:
    among = [at for at in every if claps[0] < at < claps[-1] and _far(at, claps)]
    if not 0 < len(among) <= max(len(claps) // FEW, 1):
        return ()
    where = ", ".join(f"{at:.1f}" for at in among)
    told = (
        f"among the claps, at {where} s, something was taken for talk and is not written down: if it "
        "was a clap, the rhythm has one more there"
    )
    return (told,)


def _far(at: float, claps: tuple[float, ...]) -> bool:
    place = bisect_left(claps, at)
    return all(abs(clap - at) > SAME_S for clap in claps[max(place - 1, 0) : place + 1])


def _alone(claps: tuple[float, ...]) -> tuple[str, ...]:
    gaps = [late - early for early, late in pairwise(claps)]
    far = max(ALONE_S, ALONE_TIMES * max(gaps[1:-1]))
    told = []
    if gaps[0] > far:
        told.append(
            f"the first clap, at {claps[0]:.1f} s, stands alone, {gaps[0]:.1f} s before the others"
        )
    if gaps[-1] > far:
        told.append(
            f"the last clap, at {claps[-1]:.1f} s, stands alone, {gaps[-1]:.1f} s after the others"
        )
    return tuple(f"{words}: if it was talk, cut the take there" for words in told)
