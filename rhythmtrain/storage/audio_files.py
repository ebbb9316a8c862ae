"""Writing sound files: WAV, FLAC, OGG Vorbis and MP3, block by block, whole or not at all.

Blocks are written as they come and never gathered, so an hour needs no more memory than a second.
They are cut to ``BLOCK`` frames: libsndfile crashes the process when a minute of Vorbis is written
in one call.  WAV and FLAC hold 16 bits.  WAV is written by ``wav``, the others by libsndfile.  Every file carries its title and a comment ("quarter =
72"), which all four formats keep.
"""

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from io import FileIO
from itertools import chain
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.storage.safely import check_place, told_plainly, written_beside
from rhythmtrain.storage.wav import BYTES_A_SAMPLE, LARGEST_BYTES, WavWriter, sixteen_bits

BLOCK = 65_536
LONGEST_TAG = 200
MP3_RATES = (16_000, 22_050, 24_000, 32_000, 44_100, 48_000)

Block = NDArray[np.float32]
Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of sound file as libsndfile names it; ``whole`` where it holds 16-bit integers."""

    container: str
    coding: str
    whole: bool


KINDS: dict[str, Kind] = {
    ".wav": Kind("WAV", "PCM_16", whole=True),
    ".flac": Kind("FLAC", "PCM_16", whole=True),
    ".ogg": Kind("OGG", "VORBIS", whole=False),
    ".mp3": Kind("MP3", "MPEG_LAYER_III", whole=False),
}


def write_audio(
    path: Path,
    blocks: Iterable[Block],
    rate: int,
    *,
    title: str,
    comment: str,
    progress: Progress | None = None,
) -> None:
    """Write ``blocks``, arrays of shape ``(n, channels)`` with full scale 1, to ``path``.

    The ending of ``path`` says the kind of file.  ``progress`` is told the seconds written so far.

    Raises:
        RequestError: an ending that is none of .wav .flac .ogg .mp3, a rate the kind cannot hold,
            a WAV longer than 4 GiB.
        FileError: no such folder, no permission, a full disk; nothing is left behind.
    """
    kind = kind_of(path)
    check_place(path)
    pieces = _pieces(blocks)
    first = next(pieces, None)
    if first is None:
        raise RequestError(f"there is nothing to write to {path.name}: the track is empty")
    _check_rate(path, kind, rate)
    channels = first.shape[1]
    tags = title[:LONGEST_TAG], comment[:LONGEST_TAG]
    done = 0
    with (
        written_beside(path) as beside,
        _opened(path, beside, kind, shape=(rate, channels), tags=tags) as write,
    ):
        for piece in chain((first,), pieces):
            done += len(piece)
            check_length(path, done, channels=channels)
            write(piece)
            if progress is not None:
                progress(done / rate)


def kind_of(path: Path) -> Kind:
    """Return the kind of sound file that ``path`` ends in; RequestError names those there are."""
    kind = KINDS.get(path.suffix.lower())
    if kind is None:
        raise RequestError(
            f"cannot write {path.suffix or path.name}: use {' '.join(KINDS)} or .mid"
        )
    return kind


def check_length(path: Path, frames: int, *, channels: int) -> None:
    """Raise RequestError when ``frames`` are more than a file of this kind can hold."""
    if kind_of(path).container == "WAV" and frames * channels * BYTES_A_SAMPLE > LARGEST_BYTES:
        raise RequestError(
            f"{path.name} would be larger than the 4 GiB a WAV file holds: write .flac, or make a "
            "shorter track"
        )


def _check_rate(path: Path, kind: Kind, rate: int) -> None:
    if kind.container == "MP3" and rate not in MP3_RATES:
        raise RequestError(
            f"{path.name}: MP3 holds {', '.join(map(str, MP3_RATES))} samples a second, not {rate}"
        )


class _Sink:
    """A file for libsndfile to write to, that remembers what went wrong.

    The library says little about a failed write and nothing when it happens while closing, where
    the end of a FLAC, Vorbis or MP3 file is written: a full disk would go unnoticed.
    """

    def __init__(self, file: FileIO) -> None:
        """Write to ``file``, open and unbuffered, so that only writing can fail."""
        self._file = file
        self.failure: OSError | None = None
        self.seek, self.tell = file.seek, file.tell

    def write(self, data: bytes) -> int:
        """Return how many bytes were written: fewer than asked only after a failure."""
        done = 0
        try:
            while self.failure is None and done < len(data):
                done += self._file.write(data[done:])
        except OSError as error:
            self.failure = error
        return done


@contextmanager
def _opened(
    path: Path, beside: Path, kind: Kind, *, shape: tuple[int, int], tags: tuple[str, str]
) -> Iterator[Callable[[Block], None]]:
    """Give what writes a block to ``beside``, at (rate, channels), with (title, comment)."""
    with told_plainly(path), beside.open("xb", buffering=0) as plain:
        if kind.container == "WAV":
            wav = WavWriter(plain, *shape, tags=tags)
            yield wav.write
            wav.close()
        else:
            with _encoded(path, _Sink(plain), kind, shape=shape, tags=tags) as write:
                yield write


@contextmanager
def _encoded(
    path: Path, sink: _Sink, kind: Kind, *, shape: tuple[int, int], tags: tuple[str, str]
) -> Iterator[Callable[[Block], None]]:
    """Give what writes a block to ``sink`` by libsndfile; close it, and say what went wrong."""
    with _library(path, sink):
        file = soundfile.SoundFile(sink, "w", *shape, subtype=kind.coding, format=kind.container)

    def write(block: Block) -> None:
        with _library(path, sink):
            file.write(sixteen_bits(block) if kind.whole else block)

    try:
        # The library refuses a tag without text.
        for name, text in zip(("title", "comment"), tags, strict=True):
            if text:
                setattr(file, name, text)
        yield write
    finally:
        with _library(path, sink):
            file.close()


@contextmanager
def _library(path: Path, sink: _Sink) -> Iterator[None]:
    """Raise what stopped ``sink``, or a FileError for what libsndfile could not do itself."""
    try:
        yield
    except (soundfile.SoundFileError, AssertionError) as error:
        # soundfile asserts that all frames were written: on a full disk they are not.
        if sink.failure is None:
            raise FileError(f"cannot write {path}: the sound library refuses ({error})") from error
    if sink.failure is not None:
        raise sink.failure


def _pieces(blocks: Iterable[Block]) -> Iterator[Block]:
    """Yield ``blocks`` in pieces of at most ``BLOCK`` frames, leaving out empty ones."""
    for block in blocks:
        for start in range(0, len(block), BLOCK):
            yield block[start : start + BLOCK]
