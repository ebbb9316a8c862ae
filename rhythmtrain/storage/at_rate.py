"""A stream of sound at another rate, block by block, for a loudspeaker that wants its own.

FFmpeg's resampler (through PyAV) keeps the first sample where it was; how many samples come at the
end may differ by one.
"""

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

Block = NDArray[np.float32]


def at_rate(blocks: Iterable[Block], from_rate: int, to_rate: int) -> Iterator[Block]:
    """Yield ``blocks``, shape (n,), of ``from_rate`` samples a second at ``to_rate``."""
    if from_rate == to_rate:
        yield from blocks
        return
    from av import AudioFrame, AudioResampler  # noqa: PLC0415  (loaded when a rate differs)

    resampler = AudioResampler(format="fltp", layout="mono", rate=to_rate)
    done = 0
    for block in blocks:
        if not block.size:
            continue
        frame = AudioFrame.from_ndarray(
            np.ascontiguousarray(block[None, :], np.float32), format="fltp", layout="mono"
        )
        frame.sample_rate, frame.pts = from_rate, done
        done += block.size
        for part in resampler.resample(frame):
            yield part.to_ndarray()[0]
    if done:
        for part in resampler.resample(None):
            yield part.to_ndarray()[0]
