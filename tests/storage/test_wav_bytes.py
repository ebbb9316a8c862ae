"""The WAV file byte by byte, and the silence that is left out of it."""

import wave
from io import BytesIO
from pathlib import Path

import numpy as np
import soundfile
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.storage.wav import PIECE, WavWriter, loud_parts, sixteen_bits

TAGS = ("Towpath", "quarter = 72")


def written(path: Path, blocks: list[NDArray[np.float32]], channels: int = 1) -> bytes:
    """Return the bytes of a file made of ``blocks``."""
    with path.open("wb", buffering=0) as file:
        writer = WavWriter(file, 48_000, channels, tags=TAGS)
        for block in blocks:
            writer.write(block)
        writer.close()
    return path.read_bytes()


def test_the_header_is_as_the_specification_lays_it_out(tmp_path: Path) -> None:
    """Any player reads it: RIFF, format 1, 16 bits, tags padded to even lengths, then the samples."""
    data = written(tmp_path / "a.wav", [np.array([[0.5, -0.5], [0.0, 1.0]], dtype=np.float32)], 2)
    assert data[:4] + data[8:12] == b"RIFFWAVE"
    assert int.from_bytes(data[4:8], "little") == len(data) - 8
    assert data[12:36].hex() == "666d7420100000000100020080bb000000ee020004001000"
    info = b"INFOINAM\x08\0\0\0Towpath\0ICMT\x0d\0\0\0quarter = 72\0\0"
    assert data[36:].startswith(b"LIST" + len(info).to_bytes(4, "little") + info + b"data")
    assert data[-12:].hex() == "08000000004000c00000ff7f"


def test_the_standard_library_reads_it(tmp_path: Path) -> None:
    """A third reader agrees on length and samples."""
    noise = np.random.default_rng(5).uniform(-0.9, 0.9, (5000, 2)).astype(np.float32)
    with wave.open(BytesIO(written(tmp_path / "a.wav", [noise[:1234], noise[1234:]], 2))) as file:
        assert (file.getframerate(), file.getnchannels(), file.getnframes()) == (48_000, 2, 5000)
        heard = np.frombuffer(file.readframes(5000), dtype="<i2").reshape(-1, 2)
    assert np.array_equal(heard, sixteen_bits(noise))


BURSTS = st.lists(st.tuples(st.integers(0, 9000), st.integers(1, 3000)), max_size=5)


@given(BURSTS, st.integers(1, 9000), st.integers(1, 12_000))
def test_silence_left_out_is_silence_read_back(
    bursts: list[tuple[int, int]], size: int, length: int
) -> None:
    """Every sample of a click track is where it was, whichever pauses were skipped."""
    samples = np.zeros((length, 2), dtype=np.float32)
    for begin, long in bursts:
        samples[begin : begin + long, 1] = -0.25
    covered = np.zeros(length, dtype=bool)
    for start in range(0, length, size):
        block = samples[start : start + size]
        for begin, end in loud_parts(block):
            assert 0 <= begin < end <= len(block)
            covered[start + begin : start + end] = True
    assert covered[samples.any(axis=1)].all()


def test_a_pause_at_the_end_is_part_of_the_track(tmp_path: Path) -> None:
    """The bars in which nothing sounds are there, from the first sample to the last."""
    samples = np.zeros((50 * PIECE + 7, 1), dtype=np.float32)
    samples[20 * PIECE + 3] = 0.5
    samples[-5] = 0.5
    for end in (len(samples), len(samples) - 6):
        path = tmp_path / f"{end}.wav"
        written(path, [samples[:end]])
        assert np.array_equal(
            soundfile.read(path, dtype="int16")[0], sixteen_bits(samples[:end, 0])
        )


def test_values_that_are_no_numbers_are_silence(tmp_path: Path) -> None:
    """A fault upstream never becomes a bang in somebody's headphones."""
    nothing = np.full((PIECE + 5, 1), np.nan, dtype=np.float32)
    assert not np.frombuffer(
        written(tmp_path / "a.wav", [nothing])[-2 * PIECE :], dtype="<i2"
    ).any()
