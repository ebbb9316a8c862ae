"""Places where sound was lost while a take was recorded, and the recording laid on one clock again.

Where the input drops a buffer, all that is heard afterwards comes earlier in the recording; where
the output runs out, later; where both stop at once, neither, but a moment is missing.  Mended, the
recording is as it would be had nothing been lost: what is missing is filled with what lies beside
it, turned round in time so that nothing jumps, and what is too much is cut out.  So every later
clap stands again where the track says.  What lay in the gap nobody knows: near it no onset is
believed, and none is missed.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.onsets.onset import Onset

# What an onset needs before and after it to be told from the edge of a gap.
BESIDE_S = 0.05
EVERY_S = 0.03


@dataclass(frozen=True, slots=True)
class Gap:
    """Sound was lost somewhere from frame ``first`` to ``stop`` of a recording, most likely ``at``.

    From there on all is heard by ``late`` samples later than before (negative: earlier).
    ``error_s`` is how far that may be off.
    """

    first: int
    at: int
    stop: int
    late: int = 0
    error_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Span:
    """Frames ``first`` to ``stop`` of a mended recording, in which nothing is known.

    What comes after it is known to ``error_s`` less finely.
    """

    first: int
    stop: int
    error_s: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Mended:
    """A recording on one clock, shape (n,), and where in it nothing is known, in order."""

    sound: Sound
    rate: int
    spans: tuple[Span, ...] = ()

    def believed(self, onsets: Sequence[Onset]) -> tuple[Onset, ...]:
        """Return those of ``onsets`` that lie where something is known, and how finely."""
        kept = []
        for onset in onsets:
            frame = onset.time_s * self.rate
            if not any(each.first <= frame < each.stop for each in self.spans):
                passed = [each.error_s for each in self.spans if each.stop <= frame]
                unsure_s = float(np.hypot(onset.uncertainty_s, np.linalg.norm(passed)))
                kept.append(replace(onset, uncertainty_s=unsure_s))
        return tuple(kept)

    @property
    def unknown_s(self) -> tuple[float, ...]:
        """Return seconds of the recording that fill the spans, no more than 30 ms apart."""
        times: list[float] = []
        for each in self.spans:
            first_s, stop_s = each.first / self.rate, each.stop / self.rate
            count = 1 + int(np.ceil((stop_s - first_s) / EVERY_S))
            times += np.linspace(first_s, stop_s, count).tolist()
        return tuple(times)

    def patched(self, sound: Sound) -> Sound:
        """Return ``sound``, as long as the recording, with each span filled by what lies beside it."""
        patched = sound.copy() if self.spans else sound
        for each in self.spans:
            before, after = sound[: each.first], sound[each.stop :]
            patched[each.first : each.stop] = _between(before, after, each.stop - each.first)
        return patched


def mended(sound: Sound, gaps: Sequence[Gap], rate: int) -> Mended:
    """Return ``sound``, shape (n,), in which ``gaps`` (in order) were found, on one clock again."""
    if not gaps:
        return Mended(sound, rate)
    beside = round(BESIDE_S * rate)
    parts: list[Sound] = []
    spans: list[Span] = []
    begin = moved = 0
    for gap in gaps:
        parts.append(sound[begin : gap.at])
        begin = gap.at + max(gap.late, 0)
        if gap.late < 0:
            parts.append(_between(sound[: gap.at], sound[begin:], -gap.late))
        stop = max(gap.stop, begin) - gap.late
        spans.append(Span(moved + gap.first - beside, moved + stop + beside, gap.error_s))
        moved -= gap.late
    parts.append(sound[begin:])
    whole = np.concatenate(parts)
    kept = tuple(
        Span(max(each.first, 0), min(each.stop, len(whole)), each.error_s)
        for each in spans
        if each.first < len(whole)
    )
    return Mended(whole, rate, kept)


def _between(before: Sound, after: Sound, count: int) -> Sound:
    """Return ``count`` samples that go over from ``before`` to ``after``, each turned round."""
    if not before.size or not after.size:
        return _turned(before[::-1], count) + _turned(after, count)[::-1]
    share = np.linspace(0, np.pi / 2, count, dtype=np.float32)
    ends, begins = _turned(before[::-1], count), _turned(after, count)[::-1]
    between: Sound = ends * np.cos(share) + begins * np.sin(share)
    return between


def _turned(sound: Sound, count: int) -> Sound:
    """Return ``count`` samples that begin as ``sound`` does and turn round where it ends."""
    if not sound.size:
        return np.zeros(count, np.float32)
    part = sound[:count]
    turned: Sound = np.resize(np.concatenate([part, part[::-1]]), count).astype(np.float32)
    return turned
