"""Recordings of every kind a phone makes are read in blocks, and broken ones are named."""

from pathlib import Path

import av
import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import FileError
from rhythmtrain.storage.recordings import BLOCK_FRAMES, open_recording, whole_sound

RATE = 44_100


def _ticks(seconds: float = 4.0) -> np.ndarray:
    """Return a click every half second: sharp, so that its place can be measured."""
    sound = np.zeros(round(seconds * RATE), np.float32)
    for start in range(RATE // 2, len(sound) - 400, RATE // 2):
        sound[start : start + 400] = 0.5 * np.hanning(400) * np.sin(np.arange(400) * 0.4)
    return sound


def _centres(sound: np.ndarray) -> np.ndarray:
    power = np.convolve(sound.astype(np.float64) ** 2, np.ones(400), "same")
    peaks = [
        int(np.argmax(power[start : start + RATE // 2])) + start
        for start in range(RATE // 4, len(sound) - RATE // 2, RATE // 2)
    ]
    return np.array(peaks) / RATE


@pytest.mark.parametrize("ending", [".wav", ".flac", ".ogg", ".mp3"])
def test_files_of_the_sound_library_keep_rate_and_places(tmp_path: Path, ending: str) -> None:
    """A take is as long as it was, and its claps are where they were (4 ms for Vorbis)."""
    path, sound = tmp_path / f"take{ending}", _ticks()
    soundfile.write(str(path), sound, RATE)
    recording = open_recording(path)
    heard = whole_sound(recording)
    assert recording.rate == RATE
    assert np.abs(_centres(heard)[:6] - _centres(sound)[:6]).max() < 0.004


@pytest.mark.parametrize(
    ("ending", "codec"),
    [(".m4a", "aac"), (".mp4", "aac"), (".webm", "libopus"), (".opus", "libopus")],
)
def test_files_of_phones_keep_their_places(tmp_path: Path, ending: str, codec: str) -> None:
    """Phone codecs add silence at the start; a reader that kept it would call everyone late."""
    path, sound = tmp_path / f"take{ending}", _ticks()
    rate = 48_000 if codec == "libopus" else RATE
    _encode(path, sound, codec, rate)
    recording = open_recording(path)
    heard = whole_sound(recording)
    seconds = np.arange(0, len(heard) / recording.rate, 1 / RATE)
    spots = _centres(np.interp(seconds, np.arange(len(heard)) / recording.rate, heard))
    assert np.abs(spots[:6] - _centres(sound)[:6]).max() < 0.006


def _encode(path: Path, sound: np.ndarray, codec: str, rate: int) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate)
        assert isinstance(stream, av.AudioStream)
        stream.layout = "mono"
        frame = av.AudioFrame.from_ndarray(sound[np.newaxis], format="fltp", layout="mono")
        frame.sample_rate = RATE
        frame.pts = 0
        resampler = av.AudioResampler(
            format=stream.format.name,
            layout="mono",
            rate=rate,
            frame_size=stream.codec_context.frame_size or 960,
        )
        for part in (*resampler.resample(frame), *resampler.resample(None)):
            container.mux(stream.encode(part))
        container.mux(stream.encode(None))


def test_channels_are_averaged_and_blocks_are_bounded(tmp_path: Path) -> None:
    """A stereo hour needs no more memory than a mono minute."""
    path = tmp_path / "take.wav"
    both = np.stack([np.full(200_000, 0.5), np.full(200_000, -0.1)], axis=1)
    soundfile.write(str(path), both, RATE, subtype="FLOAT")
    blocks = list(open_recording(path).blocks())
    assert max(map(len, blocks)) <= BLOCK_FRAMES
    assert np.concatenate(blocks) == pytest.approx(0.2, abs=1e-6)


def test_a_wav_cut_short_is_named(tmp_path: Path) -> None:
    """Half a download must not be judged as half a performance."""
    path = tmp_path / "take.wav"
    soundfile.write(str(path), _ticks(), RATE)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(FileError, match="cut short"):
        open_recording(path)


def test_a_wav_streamed_without_its_length_is_read(tmp_path: Path) -> None:
    """Programs that write to a pipe leave the size open (0xFFFFFFFF)."""
    path = tmp_path / "take.wav"
    soundfile.write(str(path), _ticks(), RATE)
    data = bytearray(path.read_bytes())
    place = data.index(b"data")
    data[place + 4 : place + 8] = b"\xff\xff\xff\xff"
    path.write_bytes(data)
    assert len(whole_sound(open_recording(path))) == len(_ticks())


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("take.wav", b"", "is empty"),
        ("take.wav", b"not sound at all", "not a recording that can be read"),
        ("take.m4a", b"not sound at all" * 50, "not a recording that can be read"),
        ("take.flac", b"fLaC" + b"\0" * 40, "not a recording that can be read"),
    ],
)
def test_what_is_no_recording_is_named(
    tmp_path: Path, name: str, content: bytes, message: str
) -> None:
    """One clear line for every broken upload."""
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(FileError, match=message):
        open_recording(path)


def test_a_damaged_flac_is_named_while_it_is_read(tmp_path: Path) -> None:
    """The damage shows only in the middle."""
    path = tmp_path / "take.flac"
    soundfile.write(str(path), _ticks(20), RATE)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    with pytest.raises(FileError, match="damaged"):
        whole_sound(open_recording(path))


def test_a_missing_file_and_a_folder_are_named(tmp_path: Path) -> None:
    """A slip of the finger in the name."""
    with pytest.raises(FileError, match="there is no file"):
        open_recording(tmp_path / "gone.wav")
    with pytest.raises(FileError, match="is a folder"):
        open_recording(tmp_path)


def test_a_wav_without_samples_is_named(tmp_path: Path) -> None:
    """Record pressed and stopped at once."""
    path = tmp_path / "take.wav"
    soundfile.write(str(path), np.zeros(0), RATE)
    with pytest.raises(FileError, match="holds no sound"):
        open_recording(path)


def test_a_film_without_sound_is_named(tmp_path: Path) -> None:
    """The microphone of the phone was off."""
    path = tmp_path / "take.mp4"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=5)
        stream.width = stream.height = 64
        stream.pix_fmt = "yuv420p"
        for _ in range(3):
            frame = av.VideoFrame.from_ndarray(np.zeros((64, 64, 3), np.uint8), format="rgb24")
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    with pytest.raises(FileError, match="has no sound"):
        open_recording(path)


@pytest.mark.parametrize("ending", [".wav", ".flac", ".mp3"])
def test_channels_that_are_each_other_upside_down_are_heard(tmp_path: Path, ending: str) -> None:
    """A balanced line in a stereo socket is no silence, and nobody looks for another microphone."""
    sound = 0.5 * np.sin(0.2 * np.arange(44_100)).astype(np.float32)
    path = tmp_path / f"line{ending}"
    soundfile.write(path, np.stack((sound, -sound), axis=1), 44_100)
    heard = whole_sound(open_recording(path))
    assert np.sqrt(np.mean(heard[8000:30_000] ** 2)) == pytest.approx(0.5 / np.sqrt(2), rel=0.05)
