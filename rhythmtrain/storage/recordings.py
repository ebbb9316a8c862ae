"""Recordings: any sound a phone or a computer makes, in blocks, mixed down to one channel.

libsndfile reads WAV, FLAC and OGG; FFmpeg (through PyAV) reads MP3, M4A, AAC, Opus, WebM and the
sound of phone videos.  (soundfile 0.14 seeks after every block, and in an MP3 of variable rate the
place it finds is wrong by hundreds of milliseconds: measured, so MP3 goes through PyAV.)  Blocks are float32 with full scale ±1, shape (n,), so an hour needs no
more memory than a minute.  The codecs of phones shift onsets by up to about 3 ms (measured; MP3
and FLAC by none), which the uncertainty of a take states.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from rhythmtrain.errors import FileError

BLOCK_FRAMES = 65_536
SNDFILE_ENDINGS = {".wav", ".wave", ".flac", ".ogg", ".oga", ".aif", ".aiff", ".au", ".caf"}
FFMPEG_ENDINGS = {
    ".mp3", ".m4a", ".aac", ".mp4", ".m4v", ".mov", ".webm", ".mkv", ".opus", ".3gp", ".amr", ".wma", ".avi",
}  # fmt: skip
AUDIO_ENDINGS = SNDFILE_ENDINGS | FFMPEG_ENDINGS
# How far the codecs shift onsets, 95th percentile in seconds, measured on 8 kHz to 48 kHz takes.
CODEC_SHIFT_S = {
    ".mp3": 0.0018, ".ogg": 0.0035, ".oga": 0.0035, ".opus": 0.0034, ".webm": 0.0034, ".m4a": 0.0024,
    ".aac": 0.0024, ".mp4": 0.0024, ".mov": 0.0024, ".m4v": 0.0024,
}  # fmt: skip
# How files begin that libsndfile does not read, whatever they are called: (place, bytes).
FOREIGN = (
    (4, b"ftyp"),
    (0, b"\x1aE\xdf\xa3"),
    (0, b"#!AMR"),
    (0, b"ID3"),
    (0, b"\xff\xf1"),
    (0, b"\xff\xf9"),
)
# Channels whose mean has less than this share of the first one's power (-50 dB) cancel each other.
CANCELLED = 1e-5
UNKNOWN_SIZES = (0, 0xFFFFFFFF)


@dataclass(frozen=True, slots=True)
class Recording:
    """An audio file that opened: its rate in samples a second, and its length where known."""

    path: Path
    rate: int
    duration_s: float | None

    @property
    def codec_shift_s(self) -> float:
        """Return how far the file's codec may have moved an onset, in seconds."""
        return CODEC_SHIFT_S.get(self.path.suffix.lower(), 0.0)

    def blocks(self) -> Iterator[np.ndarray]:
        """Yield the sound in blocks, shape (n,), float32.

        Raises:
            FileError: the file turns out damaged.
        """
        if by_sndfile(checked_file(self.path)):
            return _sndfile_blocks(self.path)
        return _ffmpeg_blocks(self.path)


def open_recording(path: Path) -> Recording:
    """Return the recording at ``path``, ready to be read.

    Raises:
        FileError: missing, no sound in it, damaged or cut short.
    """
    checked_file(path)
    if by_sndfile(path):
        return _open_sndfile(path)
    return _open_ffmpeg(path)


def checked_file(path: Path) -> Path:
    """Return ``path`` if it is a readable file that is not empty, else raise FileError."""
    if path.is_dir():
        raise FileError(f"{path} is a folder: give one file")
    try:
        size = path.stat().st_size
        with path.open("rb"):
            pass
    except FileNotFoundError as error:
        raise FileError(f"there is no file {path}") from error
    except OSError as error:
        raise FileError(f"{path} cannot be opened: {error.strerror}") from error
    if not size:
        raise FileError(f"{path} is empty: nothing was recorded")
    return path


def whole_sound(recording: Recording) -> np.ndarray:
    """Return the whole recording, shape (n,), float32: for short excerpts and reports only."""
    blocks = list(recording.blocks())
    return np.concatenate(blocks) if blocks else np.zeros(0, np.float32)


def by_sndfile(path: Path) -> bool:
    """Tell whether libsndfile is to read the file at ``path``."""
    if path.suffix.lower() not in SNDFILE_ENDINGS:
        return False
    with path.open("rb") as file:
        head = file.read(16)
    return not any(head[place:].startswith(begins) for place, begins in FOREIGN)


def _open_sndfile(path: Path) -> Recording:
    import soundfile  # noqa: PLC0415  (the library is loaded when a file is read)

    _refuse_cut_wav(path)
    try:
        info = soundfile.info(str(path))
    except soundfile.LibsndfileError as error:
        raise FileError(_unreadable(path)) from error
    if not info.frames:
        raise FileError(f"{path} holds no sound: nothing was recorded")
    return Recording(path, info.samplerate, info.frames / info.samplerate)


def _sndfile_blocks(path: Path) -> Iterator[np.ndarray]:
    import soundfile  # noqa: PLC0415

    try:
        with soundfile.SoundFile(str(path)) as file:
            for block in file.blocks(BLOCK_FRAMES, dtype="float32", always_2d=True):
                yield one_channel(block)
    except soundfile.LibsndfileError as error:
        raise FileError(f"{path} is damaged: copy or record it again") from error


def _open_ffmpeg(path: Path) -> Recording:
    import av  # noqa: PLC0415

    try:
        with av.open(str(path)) as container:
            if not container.streams.audio:
                raise FileError(f"{path} has no sound in it")
            stream = container.streams.audio[0]
            length = container.duration
            return Recording(path, stream.rate, length / 1e6 if length else None)
    except av.error.FFmpegError as error:
        raise FileError(_unreadable(path)) from error


def _ffmpeg_blocks(path: Path) -> Iterator[np.ndarray]:
    import av  # noqa: PLC0415

    try:
        with av.open(str(path)) as container:
            stream = container.streams.audio[0]
            resampler = av.AudioResampler(format="fltp", rate=stream.rate)
            for frame in container.decode(stream):
                for part in resampler.resample(frame):
                    yield one_channel(part.to_ndarray().T)
            for part in resampler.resample(None):
                yield one_channel(part.to_ndarray().T)
    except av.error.FFmpegError as error:
        raise FileError(f"{path} is damaged: copy or record it again") from error


def one_channel(block: np.ndarray) -> np.ndarray:
    """Return ``block``, shape (n, channels), as one channel, shape (n,): the mean of all.

    A balanced line in a stereo socket gives each channel as the other upside down, and their mean
    would be silent: then the first is taken.
    """
    mean: np.ndarray = block.mean(axis=1, dtype=np.float32)
    first = block[:, 0]
    if np.dot(mean, mean) < CANCELLED * np.dot(first, first):
        return np.ascontiguousarray(first)
    return mean


def _unreadable(path: Path) -> str:
    return (
        f"{path} is not a recording that can be read (WAV, FLAC, OGG, MP3, M4A, AAC, Opus, "
        "WebM and MP4 are): copy or record it again"
    )


def _refuse_cut_wav(path: Path) -> None:
    """Refuse a WAV file whose sound ends before its header says.

    A size of 0 or 0xFFFFFFFF is what programs write that cannot go back to fill it in.
    """
    with path.open("rb") as file:
        if file.read(4) != b"RIFF":
            return
        file.seek(12)
        end = path.stat().st_size
        while len(head := file.read(8)) == 8:  # noqa: PLR2004  (a RIFF chunk head)
            name, size = struct.unpack("<4sI", head)
            if name == b"data":
                have = end - file.tell()
                if size not in UNKNOWN_SIZES and have < size:
                    raise FileError(
                        f"{path} is cut short ({have / size:.0%} of its sound is there): "
                        "copy or record it again"
                    )
                return
            file.seek(size + size % 2, 1)
