"""A whole recording from which the loudspeaker was taken out, and what of it lies where in the track.

It is heard stretch by stretch, so that no whole take is held once more.
"""

from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass, replace

from rhythmtrain.capture.take import Heard
from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.bleed.bleed import Cleared, cleared
from rhythmtrain.hearing.bleed.delay import SoundDelay
from rhythmtrain.hearing.bleed.past import PastBleed
from rhythmtrain.hearing.gaps.gaps import Mended
from rhythmtrain.hearing.onsets.onset import Onset
from rhythmtrain.rehearsal.live.lost_sound import LostSound

# A response is fitted to the take it is taken out of, which flatters short takes: by 3 dB in 12 s,
# 2 dB in 24 s (measured on the half "tune" of tests/simulate/rooms.py).
FLATTERED_DB_S = 40.0


@dataclass(frozen=True, slots=True, eq=False)
class ClearedTake:
    """A whole recording heard without its loudspeaker, and the clocks of its stretches."""

    past: PastBleed
    rate: int
    firsts_s: tuple[float, ...]
    clocks: tuple[SoundDelay, ...]

    @property
    def claimed_db(self) -> float:
        """Return by how many dB the loudspeaker is softer, as far as the fit itself can tell."""
        return self.past.claimed_db

    @property
    def softer_db(self) -> float:
        """Return by how many dB it is softer, without what a short take flatters."""
        return self.claimed_db - FLATTERED_DB_S * self.rate / self.past.frames

    def heard(self, onset: Onset) -> Heard:
        """Return ``onset`` in track time."""
        return Heard(self.track_s(onset.time_s), onset.strength, onset.uncertainty_s)

    def track_s(self, time_s: float) -> float:
        """Return which second of the track is heard at ``time_s`` of the recording."""
        return self.clocks[max(bisect_right(self.firsts_s, time_s) - 1, 0)].track_s(time_s)


def cleared_take(
    laid: Mended, track: Block, measured: SoundDelay, *, kind: str, aloud: bool
) -> ClearedTake:
    """Return ``laid`` without ``track``, which is heard in it as ``measured``.

    ``kind`` is listened for, while the player may count ``aloud``.
    """
    rate = laid.rate
    past = PastBleed(rate, kind=kind, aloud=aloud)
    firsts_s, clocks = [], []
    for each in cleared(laid.sound, track, rate, measured):
        past.feed(replace(each, left=_patched(laid, each)))
        firsts_s.append(each.first / rate)
        clocks.append(each.delay)
    return ClearedTake(past, rate, tuple(firsts_s), tuple(clocks))


def _patched(laid: Mended, stretch: Cleared) -> Block:
    """Return what is left of a stretch, where nothing is known filled by what lies beside it."""
    first, count = stretch.first, len(stretch.left)
    spans = tuple(
        replace(each, first=max(each.first - first, 0), stop=min(each.stop - first, count))
        for each in laid.spans
        if each.first < first + count and each.stop > first
    )
    return replace(laid, sound=stretch.left, spans=spans).patched(stretch.left)


def lost_sound(laid: Mended, track_s: Callable[[float], float]) -> tuple[LostSound, ...]:
    """Return the spans of ``laid`` of which nothing is known, in track time."""
    return tuple(
        LostSound(track_s(each.first / laid.rate), track_s(each.stop / laid.rate), each.error_s)
        for each in laid.spans
    )
