"""A whole recording from which the loudspeaker was taken out, and what of it lies where in the track."""

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from rhythmtrain.capture.take import Heard
from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.bleed import cleared, removal_db
from rhythmtrain.hearing.delay import SoundDelay
from rhythmtrain.hearing.gaps import Mended
from rhythmtrain.hearing.onsets import Onset
from rhythmtrain.hearing.past_bleed import Past
from rhythmtrain.rehearsal.lost_sound import LostSound

# A response is fitted to the take it is taken out of, which flatters short takes: by 3 dB in 12 s,
# 2 dB in 24 s (measured on the half "tune" of tests/simulate/rooms.py).
FLATTERED_DB_S = 40.0


@dataclass(frozen=True, slots=True, eq=False)
class ClearedTake:
    """A whole recording without its loudspeaker, and the clocks of its stretches."""

    past: Past
    firsts_s: tuple[float, ...]
    clocks: tuple[SoundDelay, ...]

    @property
    def claimed_db(self) -> float:
        """Return by how many dB the loudspeaker is softer, as far as the fit itself can tell."""
        return removal_db(self.past.bleed, self.past.leftover)

    @property
    def softer_db(self) -> float:
        """Return by how many dB it is softer, without what a short take flatters."""
        return self.claimed_db - FLATTERED_DB_S * self.past.rate / len(self.past.left)

    def heard(self, onset: Onset) -> Heard:
        """Return ``onset`` in track time."""
        return Heard(self.track_s(onset.time_s), onset.strength, onset.uncertainty_s)

    def track_s(self, time_s: float) -> float:
        """Return which second of the track is heard at ``time_s`` of the recording."""
        return self.clocks[max(bisect_right(self.firsts_s, time_s) - 1, 0)].track_s(time_s)


def cleared_take(laid: Mended, track: Block, measured: SoundDelay) -> ClearedTake:
    """Return ``laid`` without ``track``, which is heard in it as ``measured``."""
    rate = laid.rate
    pieces = list(cleared(laid.sound, track, rate, measured))
    left, bleed, leftover = (
        np.concatenate([getattr(each, name) for each in pieces])
        for name in ("left", "bleed", "leftover")
    )
    firsts_s = tuple(each.first / rate for each in pieces)
    past = Past(laid.patched(left), bleed, leftover, rate)
    return ClearedTake(past, firsts_s, tuple(each.delay for each in pieces))


def lost_sound(laid: Mended, track_s: Callable[[float], float]) -> tuple[LostSound, ...]:
    """Return the spans of ``laid`` of which nothing is known, in track time."""
    return tuple(
        LostSound(track_s(each.first / laid.rate), track_s(each.stop / laid.rate), each.error_s)
        for each in laid.spans
    )
