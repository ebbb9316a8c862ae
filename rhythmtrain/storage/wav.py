"""A plain WAV file, 16 bits: RIFF with format, title and comment, and the samples.

Written here and not by a library because it is most of the work of making a long track: the
samples are rounded into one buffer that is used again and again, and silence, which is most of a
click track, is not written at all but skipped, so that the file system keeps it as a hole and
gives zeros back.

Layout (Microsoft and IBM 1991, *Multimedia Programming Interface and Data Specifications 1.0*):
chunks of a four-letter name, a 32-bit length, and a body padded to an even length; LIST/INFO holds
the tags INAM (title) and ICMT (comment).
"""

import struct
from collections.abc import Iterator
from io import FileIO

import numpy as np
from numpy.typing import NDArray

BYTES_A_SAMPLE = 2
# Readers take the lengths as unsigned 32-bit numbers; some room is left for the tags.
LARGEST_BYTES = 2**32 - 2**16
PLAIN_SAMPLES = 1
FULL_SCALE = 2**15
# Silence is looked for in pieces of so many frames.
PIECE = 2048
RIFF_HEAD, CHUNK_HEAD = 12, 8

Block = NDArray[np.float32]


class WavWriter:
    """Writes float blocks, full scale 1, as 16-bit samples; ``close`` completes the header."""

    def __init__(self, file: FileIO, rate: int, channels: int, *, tags: tuple[str, str]) -> None:
        """Begin at the start of ``file``, empty and unbuffered, with (title, comment)."""
        self._file = file
        self._frame = channels * BYTES_A_SAMPLE
        self._head = _chunk(b"fmt ", _format(rate, channels)) + _chunk(b"LIST", _info(*tags))
        self._first = RIFF_HEAD + len(self._head) + CHUNK_HEAD
        self._bytes = 0

    def write(self, block: Block) -> None:
        """Add ``block``, shape ``(n, channels)``; what lies beyond full scale is kept at it."""
        for begin, end in loud_parts(block):
            self._file.seek(self._first + self._bytes + begin * self._frame)
            self._put(sixteen_bits(block[begin:end]).reshape(-1).view(np.uint8).data)
        self._bytes += len(block) * self._frame

    def close(self) -> None:
        """Write the header, now that the length is known, and the silence at the end."""
        self._file.truncate(self._first + self._bytes)
        self._file.seek(0)
        # 4 bytes of the RIFF head count as body: the name "WAVE".
        riff = struct.pack("<4sI4s", b"RIFF", self._first + self._bytes - CHUNK_HEAD, b"WAVE")
        self._put(memoryview(riff + self._head + struct.pack("<4sI", b"data", self._bytes)))

    def _put(self, data: memoryview) -> None:
        """Write all of ``data``; on a disk that is nearly full the system may take a part first."""
        while data:
            data = data[self._file.write(data) :]


def loud_parts(block: Block) -> Iterator[tuple[int, int]]:
    """Yield (begin, end) of the parts of ``block`` that are not silent, in whole pieces."""
    whole = len(block) // PIECE * PIECE
    pieces = np.ascontiguousarray(block[:whole]).reshape(-1, PIECE * block.shape[1])
    energy = np.einsum("ij,ij->i", pieces, pieces)
    left = float((block[whole:] ** 2).sum())
    loud = np.array([0.0, *energy.tolist(), left, 0.0]) > 0
    edges = np.flatnonzero(np.diff(loud)) * PIECE
    for begin, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        yield begin, min(end, len(block))


def sixteen_bits(block: Block) -> NDArray[np.int16]:
    """Return ``block`` rounded to 16 bits, with what lies beyond full scale kept at it."""
    scaled = block * np.float32(FULL_SCALE)
    np.rint(scaled, out=scaled)
    np.clip(scaled, -FULL_SCALE, FULL_SCALE - 1, out=scaled)
    return scaled.astype("<i2")


def _format(rate: int, channels: int) -> bytes:
    frame = channels * BYTES_A_SAMPLE
    bits = 8 * BYTES_A_SAMPLE
    return struct.pack("<HHIIHH", PLAIN_SAMPLES, channels, rate, rate * frame, frame, bits)


def _info(title: str, comment: str) -> bytes:
    tags = ((b"INAM", title), (b"ICMT", comment))
    return b"INFO" + b"".join(_chunk(name, text.encode() + b"\0") for name, text in tags if text)


def _chunk(name: bytes, body: bytes) -> bytes:
    return struct.pack("<4sI", name, len(body)) + body + b"\0" * (len(body) % 2)
