"""The sound of a part of a recording, in one or two channels, at the rate of a track, in blocks.

Whatever the file's own rate, FFmpeg's resampler brings it to the rate wanted, keeping every sample
at its second.  More than two channels are brought to two.  A recording is read from its beginning
where its kind cannot be entered exactly in the middle.
"""

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import FileError
from rhythmtrain.storage.recordings import (
    BLOCK_FRAMES,
    SNDFILE_ENDINGS,
    Recording,
    by_sndfile,
    checked_file,
)

Sound = NDArray[np.float32]
EXACT_ENDINGS = SNDFILE_ENDINGS - {".ogg", ".oga"}


def sound_between(
    recording: Recording, start_s: float, stop_s: float, *, rate: int
) -> Iterator[Sound]:
    """Yield the sound from ``start_s`` to ``stop_s``, shape (n, channels), float32, at ``rate``.

    Raises:
        FileError: the file turns out damaged.
    """
    import av  # noqa: PLC0415  (the library is loaded when a file is read)

    own = recording.rate
    first, last = round(start_s * own), round(stop_s * own)
    pieces = _cut(_own_blocks(recording, first), first, last)
    resampler: av.AudioResampler | None = None
    for piece in pieces:
        if own == rate:
            yield piece
            continue
        layout = "mono" if piece.shape[1] == 1 else "stereo"
        resampler = resampler or av.AudioResampler(format="fltp", layout=layout, rate=rate)
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(piece.T), "fltp", layout)
        frame.sample_rate = own
        for part in resampler.resample(frame):
            yield _two(part.to_ndarray().T)
    if resampler is not None:
        for part in resampler.resample(None):
            yield _two(part.to_ndarray().T)


def _cut(blocks: Iterator[tuple[int, Sound]], first: int, last: int) -> Iterator[Sound]:
    """Yield what of ``blocks``, with their first samples, lies from ``first`` to ``last``."""
    for at, block in blocks:
        part = block[max(first - at, 0) : max(last - at, 0)]
        if len(part):
            yield part
        if at + len(block) >= last:
            return


def _own_blocks(recording: Recording, first: int) -> Iterator[tuple[int, Sound]]:
    """Yield (first sample, block) at the file's own rate, from about ``first`` on."""
    if by_sndfile(checked_file(recording.path)):
        yield from _sndfile(recording, first)
        return
    at = 0
    for block in _ffmpeg(recording):
        yield at, block
        at += len(block)


def _sndfile(recording: Recording, first: int) -> Iterator[tuple[int, Sound]]:
    import soundfile  # noqa: PLC0415

    try:
        with soundfile.SoundFile(str(recording.path)) as file:
            exact = recording.path.suffix.lower() in EXACT_ENDINGS
            at = file.seek(min(first, file.frames)) if exact else 0
            for block in file.blocks(BLOCK_FRAMES, dtype="float32", always_2d=True):
                yield at, _two(block)
                at += len(block)
    except soundfile.LibsndfileError as error:
        raise FileError(f"{recording.path} is damaged: copy or record it again") from error


def _ffmpeg(recording: Recording) -> Iterator[Sound]:
    import av  # noqa: PLC0415

    try:
        with av.open(str(recording.path)) as container:
            stream = container.streams.audio[0]
            resampler = av.AudioResampler(format="fltp", rate=stream.rate)
            for frame in container.decode(stream):
                for part in resampler.resample(frame):
                    yield _two(part.to_ndarray().T)
            for part in resampler.resample(None):
                yield _two(part.to_ndarray().T)
    except av.error.FFmpegError as error:
        raise FileError(f"{recording.path} is damaged: copy or record it again") from error


def _two(sound: NDArray[Any]) -> Sound:
    """Return ``sound`` in at most two channels; of more, the odd and the even ones are joined."""
    block: Sound = sound.astype(np.float32, copy=False)
    if block.shape[1] <= 2:  # noqa: PLR2004  (two ears)
        return block
    return np.stack((block[:, ::2].mean(axis=1), block[:, 1::2].mean(axis=1)), axis=1)
