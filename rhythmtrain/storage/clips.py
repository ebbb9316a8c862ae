"""Short sounds for a page: a piece of a recording, and MP3 in memory."""

from io import BytesIO

import numpy as np
import soundfile
from numpy.typing import NDArray

from rhythmtrain.storage.recordings import Recording
from rhythmtrain.storage.word_sound import resampled

Sound = NDArray[np.float32]


def pieces(recording: Recording, spans_s: list[tuple[float, float]], *, rate: int) -> list[Sound]:
    """Return the sound of each span (start, stop) in seconds, mono, shape (n,), at ``rate``.

    The recording is read once, block by block; what lies outside it is silence.
    """
    found = [
        np.zeros(max(round((stop - start) * recording.rate), 1), np.float32)
        for start, stop in spans_s
    ]
    firsts = [round(start * recording.rate) for start, _ in spans_s]
    at = 0
    for block in recording.blocks():
        for piece, first in zip(found, firsts, strict=True):
            low, high = max(first, at), min(first + len(piece), at + len(block))
            if low < high:
                piece[low - first : high - first] = block[low - at : high - at]
        at += len(block)
    return [
        resampled(piece.astype(np.float64), recording.rate, rate).astype(np.float32)
        for piece in found
    ]


def mp3_bytes(sound: Sound, rate: int) -> bytes:
    """Return ``sound``, mono with full scale 1, as an MP3 file in memory."""
    file = BytesIO()
    soundfile.write(file, np.clip(sound, -1, 1), rate, format="MP3", subtype="MPEG_LAYER_III")
    return file.getvalue()
