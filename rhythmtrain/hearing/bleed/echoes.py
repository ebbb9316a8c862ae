"""Whether what was heard is only the loudspeaker: it keeps the track's times as no hand can.

Sounds of the track that reach a microphone come one delay late, each within a millisecond or two.
People who clap along keep a beat to 10 ms at best (standard deviation; Repp 2005).  So sounds that
nearly all lie within 2.5 ms of places of the track, all by the same delay, were not clapped.
"""

from collections.abc import Sequence

import numpy as np

EXACT_S = 0.0025
LATEST_S = 1.0
FEWEST = 4
# Two clocks drift apart by no more than a few milliseconds in so many sounds.
COMPARED = 16
SHARE = 0.8


def only_the_track(heard_s: Sequence[float], track_s: Sequence[float]) -> bool:
    """Return whether sounds at ``heard_s`` are those of the track at ``track_s``, one delay late."""
    heard, track = np.array(heard_s[:COMPARED]), np.array(track_s)
    if len(heard) < FEWEST or not len(track):
        return False
    apart = heard[:, None] - track[None, :]
    delays = np.sort(apart[(apart >= 0) & (apart <= LATEST_S)])
    for delay in delays:
        near = np.abs(apart - (delay + EXACT_S)) <= EXACT_S
        if near.any(axis=1).sum() >= SHARE * len(heard):
            return True
    return False
