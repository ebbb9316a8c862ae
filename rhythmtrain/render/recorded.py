"""Recordings in a track: pieces slowed along their anchors, faded at their ends, mixed in blocks.

A piece begins a little before its first anchor, so that an attack on the first beat is whole, and
fades out before its last anchor, where the recording's next bar would begin.  Where nothing
follows in the recording it rings on instead.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.prompts.plan import Laid
from rhythmtrain.render.attacks import find_attacks
from rhythmtrain.render.elastic import elastic
from rhythmtrain.render.mixer import MONO, Sound
from rhythmtrain.render.stretch import stretched
from rhythmtrain.units import samples_at

EARLY_S = 0.05
FADE_IN_S = 0.03
FADE_OUT_S, ENDS_EARLY_S = 0.12, 0.01
RING_S, RING_FADE_S = 2.5, 1.5
DEAD = 1e-6

# (first second, last second) of a recording to its sound from the first on, at the track's rate,
# in blocks of shape (n, channels).
Source = Callable[[float, float], Iterator[Sound]]


@dataclass(frozen=True, slots=True)
class Played:
    """A piece of a recording: where it lies in the track, where its sound comes from, how loud."""

    laid: Laid
    source: Source
    gain: float

    @property
    def ends_s(self) -> float:
        """Return the track second at which it has died away."""
        return _widened(self.laid)[-1][1]


def with_live_channel(source: Source, first_s: float, last_s: float) -> Source:
    """Return ``source``, or its live channel alone where the other one is dead.

    A channel is dead that is 60 dB softer than the other from ``first_s`` to ``last_s``: heard in
    one ear only, a recording is hard to play with.
    """
    powers = np.zeros(1)
    for block in source(first_s, last_s):
        powers = powers + (block.astype(np.float64) ** 2).sum(axis=0)
    if powers.size == MONO or powers.min() > DEAD * powers.max():
        return source
    live = int(np.argmax(powers))
    return lambda begin, end: (block[:, live : live + 1] for block in source(begin, end))


def recorded_blocks(
    pieces: tuple[Played, ...], rate: int, frames: int, *, channels: int, block: int
) -> Iterator[NDArray[np.float32]]:
    """Yield ``frames`` samples of the pieces in arrays of shape ``(block, channels)``.

    Any ``block`` gives the same samples.
    """
    waiting = [_Piece(each, rate) for each in pieces]
    for start in range(0, frames, block):
        stop = min(start + block, frames)
        mixed = np.zeros((stop - start, channels), dtype=np.float32)
        for piece in waiting:
            if piece.first < stop:
                piece.add_to(mixed, start)
        waiting = [piece for piece in waiting if not piece.ended]
        yield mixed


class _Piece:
    """One piece, asked for from its first sample to its last."""

    def __init__(self, played: Played, rate: int) -> None:
        self._played = played
        self._rate = rate
        (begun, start), *_, (ended, stop) = _widened(played.laid)
        self.first, self._stop = int(samples_at(start, rate)), int(samples_at(stop, rate))
        self._from_s, self._to_s, self._start_s = begun, ended, start
        self._blocks: Iterator[Sound] | None = None
        self._kept: Sound | None = None
        self._at = self.first
        self.ended = False

    def add_to(self, mixed: Sound, start: int) -> None:
        """Add what falls into the block that begins at sample ``start``."""
        if self._blocks is None:
            self._blocks = self._faded()
        while not self.ended and self._at < start + len(mixed):
            if self._kept is None:
                self._kept = next(self._blocks, None)
                if self._kept is None:
                    self.ended = True
                    return
            kept = self._kept
            skip = max(start - self._at, 0)
            into = max(self._at - start, 0)
            heard = kept[skip : skip + len(mixed) - into]
            mixed[into : into + len(heard)] += _in_channels(heard, mixed.shape[1])
            used = min(skip + len(heard), len(kept))
            self._at += used
            self._kept = kept[used:] if used < len(kept) else None

    def _faded(self) -> Iterator[Sound]:
        """Yield the slowed sound from the piece's first sample on, with its fades and its gain."""
        laid, rate, length = self._played.laid, self._rate, self._stop - self.first
        anchors = tuple(
            (recorded - self._from_s, track - self._start_s) for recorded, track in _widened(laid)
        )
        attacks = find_attacks(self._played.source(self._from_s, self._to_s), rate)
        sound = stretched(
            self._played.source(self._from_s, self._to_s), rate, elastic(anchors, attacks)
        )
        rise = round(FADE_IN_S * rate)
        fall = round((RING_FADE_S if laid.rings else FADE_OUT_S) * rate)
        done = 0
        for block in sound:
            places = np.arange(done, done + len(block))
            shape = np.clip(np.minimum(places / rise, (length - places) / fall), 0, 1)
            shape = (0.5 - 0.5 * np.cos(np.pi * shape)) * self._played.gain
            yield block * shape[:, None].astype(np.float32)
            done += len(block)


def _widened(laid: Laid) -> tuple[tuple[float, float], ...]:
    """Return the anchors of a piece with what sounds before its first and after its last."""
    (begun, start), (next_s, next_track) = laid.anchors[:2]
    (before_s, before_track), (ended, stop) = laid.anchors[-2:]
    opening = (next_s - begun) / (next_track - start)
    closing = (ended - before_s) / (stop - before_track)
    early = min(EARLY_S, start, max(begun / opening, 0.0))
    later = RING_S if laid.rings else -ENDS_EARLY_S
    inner = [each for each in laid.anchors if start < each[1] < stop + later]
    first = (begun - early * opening, start - early)
    return (first, *inner, (ended + later * closing, stop + later))


def _in_channels(sound: Sound, channels: int) -> Sound:
    """Return ``sound``, shape (n, any), in so many channels."""
    if sound.shape[1] == channels:
        return sound
    if channels == MONO:
        joined: Sound = sound.mean(axis=1, keepdims=True, dtype=np.float32)
        return joined
    return np.repeat(sound[:, :1], channels, axis=1)
