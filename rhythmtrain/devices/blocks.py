"""A track cut into the even blocks that a device asks for.

Tracks come in blocks of any length and as many channels as they were made with; a device wants
``size`` frames at a time in its own number of channels.  One channel is copied to all; many are
averaged where the device has one.  The last block is filled up with silence, and ``tail`` frames of
silence (rounded up to whole blocks) follow, in which what is late can still be recorded.
"""

from collections.abc import Iterable, Iterator

import numpy as np

from rhythmtrain.devices.ports import Block
from rhythmtrain.errors import DeviceError

ONE, TABLE = 1, 2


def even_blocks(blocks: Iterable[Block], size: int, *, channels: int, tail: int) -> Iterator[Block]:
    """Yield ``blocks`` and the tail as new arrays of shape ``(size, channels)``.

    Raises:
        DeviceError: a track of several channels that the device does not have.
    """
    filled = 0
    page = _silence(size, channels)
    for block in blocks:
        rest = spread(block, channels)
        while len(rest):
            taken = min(size - filled, len(rest))
            page[filled : filled + taken] = rest[:taken]
            rest, filled = rest[taken:], filled + taken
            if filled == size:
                yield page
                page, filled = _silence(size, channels), 0
    if filled:
        yield page
    for _ in range(-(-tail // size)):
        yield _silence(size, channels)


def spread(block: Block, channels: int) -> Block:
    """Return ``block``, of shape ``(n,)`` or ``(n, any)``, as shape ``(n, channels)``."""
    wide = block if block.ndim == TABLE else block[:, np.newaxis]
    if wide.shape[1] == channels:
        return wide
    if channels == ONE:
        return np.asarray(wide.mean(axis=1, keepdims=True), dtype=np.float32)
    if wide.shape[1] != ONE:
        raise DeviceError(
            f"the track has {wide.shape[1]} channels and the device {channels}: "
            "choose a device with as many, or make the track with one or two channels"
        )
    return np.repeat(wide, channels, axis=1)


def _silence(size: int, channels: int) -> Block:
    return np.zeros((size, channels), dtype=np.float32)
