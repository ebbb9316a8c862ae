"""The mixer: sounds laid at exact samples, given out block by block.

Every sound carries the sample at which it begins, so nothing is ever added up along the way and
an hour of clicks has no drift.  Sounds are made when the mixer reaches them and dropped when they
have died away: an hour needs no more memory than a second.  Sounds that meet are added in the
order in which they begin, whatever the size of the blocks, so any block size gives the same
samples to the last bit.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError

BLOCK = 65_536
MONO, STEREO = 1, 2

Sound = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Placed:
    """One sound in the track.

    ``at`` is the sample of the track on which its first sample falls (negative: it has begun
    before the track does), ``length`` how many samples ``make()`` will return, mono.  ``pan`` runs
    from -1 (left only) over 0 (both alike) to 1 (right only).
    """

    at: int
    length: int
    make: Callable[[], Sound]
    gain: float = 1.0
    pan: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a place that neither ear could be."""
        if not -1 <= self.pan <= 1:
            raise RequestError(f"pan must be -1 (left) to 1 (right), got {self.pan:g}")


def render_blocks(
    placed: Iterable[Placed], frames: int, *, channels: int = STEREO, block: int = BLOCK
) -> Iterator[NDArray[np.float32]]:
    """Yield ``frames`` samples of the mix in arrays of shape ``(block, channels)``, the last shorter.

    Raises:
        RequestError: a block of no samples, or more channels than two.
    """
    if block < 1 or channels not in (MONO, STEREO):
        raise RequestError(
            f"a mix has 1 or 2 channels and blocks of 1 sample or more, got {channels} and {block}"
        )
    return _blocks(sorted(placed, key=lambda each: each.at), frames, channels, block)


def _blocks(
    waiting: list[Placed], frames: int, channels: int, block: int
) -> Iterator[NDArray[np.float32]]:
    sounding: list[tuple[Placed, Sound]] = []
    coming = 0
    for start in range(0, frames, block):
        stop = min(start + block, frames)
        while coming < len(waiting) and waiting[coming].at < stop:
            sounding.append((waiting[coming], waiting[coming].make()))
            coming += 1
        mixed = np.zeros((stop - start, channels), dtype=np.float32)
        for each, sound in sounding:
            _add(mixed, each, sound, start)
        yield mixed
        sounding = [pair for pair in sounding if pair[0].at + pair[0].length > stop]


def _add(mixed: NDArray[np.float32], each: Placed, sound: Sound, start: int) -> None:
    """Add the part of ``sound`` that falls into the block beginning at sample ``start``."""
    begun = max(start - each.at, 0)
    into = max(each.at - start, 0)
    heard = sound[begun : begun + len(mixed) - into]
    if not len(heard):
        return
    for channel, gain in enumerate(ear_gains(each, mixed.shape[1])):
        mixed[into : into + len(heard), channel] += heard * np.float32(gain)


def ear_gains(each: Placed, channels: int) -> tuple[float, ...]:
    """Return the gain of a sound in each channel: the far ear gets less, the near one never more.

    In one channel everything is heard alike, so a panned track loses nothing there.
    """
    if channels == MONO:
        return (each.gain,)
    return each.gain * min(1.0, 1.0 - each.pan), each.gain * min(1.0, 1.0 + each.pan)
