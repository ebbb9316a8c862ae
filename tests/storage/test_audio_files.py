"""Sound files: what goes in comes out, tagged, whole or not at all."""

import gc
import resource
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.storage.audio_files import check_length, kind_of, write_audio

RATE = 48_000
ENDINGS = (".wav", ".flac", ".ogg", ".mp3")
TITLE, COMMENT = "Größe & “Towpath”", "quarter = 72"

Block = NDArray[np.float32]


def sines(seconds: float, *, size: int = 30_000, channels: int = 2) -> Iterator[Block]:
    """Yield a soft sine in blocks."""
    for start in range(0, round(seconds * RATE), size):
        n = np.arange(start, min(start + size, round(seconds * RATE)))
        wave = 0.3 * np.sin(2 * np.pi * 440 * n / RATE)
        yield np.repeat(wave[:, None], channels, axis=1).astype(np.float32)


def names(folder: Path) -> list[str]:
    """Return what lies in a folder."""
    return sorted(path.name for path in folder.iterdir())


def write(path: Path, blocks: Iterable[Block], rate: int = RATE) -> None:
    """Write a file with the tags of these tests."""
    write_audio(path, blocks, rate, title=TITLE, comment=COMMENT)


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("channels", [1, 2])
def test_a_file_holds_its_sound_and_its_tags(tmp_path: Path, ending: str, channels: int) -> None:
    """A player shows the title and the tempo, and the sound has its length to the sample."""
    path = tmp_path / f"track{ending}"
    write(path, sines(3.21, channels=channels))
    with soundfile.SoundFile(path) as file:
        assert (file.title, file.comment) == (TITLE, COMMENT)
        assert (file.samplerate, file.channels, file.frames) == (RATE, channels, round(3.21 * RATE))
        heard = file.read(dtype="float32", always_2d=True)
    wanted = np.concatenate(list(sines(3.21, channels=channels)))
    middle = slice(RATE, 2 * RATE)
    assert np.abs(heard[middle] - wanted[middle]).max() < (
        0.02 if ending in (".ogg", ".mp3") else 2e-5
    )
    assert names(tmp_path) == [path.name]


@pytest.mark.parametrize("ending", [".wav", ".flac"])
def test_sixteen_bits_are_rounded_and_never_wrap(tmp_path: Path, ending: str) -> None:
    """The softest step survives, silence stays silent, and too loud is not turned upside down."""
    values = np.array(
        [[0.0], [1 / 32768], [-0.6 / 32768], [0.4 / 32768], [2.0], [-2.0]], dtype=np.float32
    )
    path = tmp_path / f"steps{ending}"
    write(path, [values])
    assert soundfile.read(path, dtype="int16")[0].tolist() == [0, 1, -1, 0, 32767, -32768]


@pytest.mark.parametrize("ending", ENDINGS)
def test_more_than_a_minute_in_one_block_is_written(tmp_path: Path, ending: str) -> None:
    """The library crashes when a minute of Vorbis comes at once: it never does."""
    path = tmp_path / f"long{ending}"
    write(path, sines(75, size=75 * RATE, channels=1))
    assert soundfile.info(path).frames == 75 * RATE


@pytest.mark.long
def test_ten_minutes_of_ogg_are_written(tmp_path: Path) -> None:
    """A whole practice session in the format that phones take."""
    path = tmp_path / "session.ogg"
    write(path, sines(600, size=600 * RATE))
    assert soundfile.info(path).frames == 600 * RATE


def test_progress_is_told_in_seconds_written(tmp_path: Path) -> None:
    """A bar can show how far it is."""
    told: list[float] = []
    write_audio(
        tmp_path / "a.wav",
        sines(2.0, size=RATE // 2),
        RATE,
        title=TITLE,
        comment=COMMENT,
        progress=told.append,
    )
    assert told == [0.5, 1.0, 1.5, 2.0]


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("title", ["", "a\nb", "x" * 100_000])
def test_any_title_can_be_kept(tmp_path: Path, ending: str, title: str) -> None:
    """A drill without a title, or with a strange one, still makes a track."""
    path = tmp_path / f"track{ending}"
    write_audio(path, sines(0.2), RATE, title=title, comment="")
    with soundfile.SoundFile(path) as file:
        assert (file.title, file.comment) == (title[:200], "")


def test_an_ending_in_capitals_is_known(tmp_path: Path) -> None:
    """Files from other systems are called TRACK.WAV."""
    write(tmp_path / "TRACK.WAV", sines(0.1))
    assert soundfile.info(tmp_path / "TRACK.WAV").format == "WAV"


@pytest.mark.parametrize(("name", "said"), [("a.xyz", r"\.xyz"), ("a", "a"), ("a.m4a", r"\.m4a")])
def test_an_unknown_ending_is_named_with_those_there_are(
    tmp_path: Path, name: str, said: str
) -> None:
    """One line says what can be written."""
    with pytest.raises(
        RequestError, match=rf"cannot write {said}: use \.wav \.flac \.ogg \.mp3 or \.mid"
    ):
        write(tmp_path / name, sines(0.1))
    assert names(tmp_path) == []


def test_a_missing_folder_is_said_before_anything_is_rendered(tmp_path: Path) -> None:
    """Nobody waits for a track that has nowhere to go."""
    asked: list[bool] = []

    def rendered() -> Iterator[Block]:
        asked.append(True)
        yield from sines(0.1)

    with pytest.raises(FileError, match="does not exist: make it first, or give another"):
        write(tmp_path / "no such" / "a.wav", rendered())
    assert not asked


def test_an_empty_track_is_refused(tmp_path: Path) -> None:
    """A file of nothing is no help to anyone."""
    with pytest.raises(RequestError, match=r"nothing to write to a\.wav"):
        write(tmp_path / "a.wav", [np.zeros((0, 2), dtype=np.float32)])
    assert names(tmp_path) == []


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("failure", [KeyboardInterrupt, MemoryError, AssertionError])
def test_a_failure_halfway_leaves_nothing(
    tmp_path: Path, ending: str, failure: type[BaseException]
) -> None:
    """Ctrl-C in the middle leaves no half track, and whatever went wrong is said as it is."""

    def broken() -> Iterator[Block]:
        yield from sines(3.0)
        raise failure

    path = tmp_path / f"track{ending}"
    path.write_bytes(b"older")
    with pytest.raises(failure):
        write(path, broken())
    assert path.read_bytes() == b"older"
    assert names(tmp_path) == [path.name]


@contextmanager
def disk_with(room: int) -> Iterator[None]:
    """Let no file grow beyond ``room`` bytes: that stands for a disk that is full."""
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (room, before[1]))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize("missing", [1, 3000, None])
def test_a_full_disk_leaves_nothing_and_is_said_once(
    tmp_path: Path, ending: str, missing: int | None, capfd: pytest.CaptureFixture[str]
) -> None:
    """Also when only the last byte does not fit, while the file is being closed."""
    whole, cut = tmp_path / f"whole{ending}", tmp_path / f"cut{ending}"
    write(whole, sines(3.0))
    room = whole.stat().st_size - missing if missing else 100
    with (
        pytest.raises(
            FileError, match=rf"cannot write .*cut\{ending}: .* larger than the disk allows"
        ),
        disk_with(room),
    ):
        write(cut, sines(3.0))
    gc.collect()
    assert names(tmp_path) == [whole.name]
    assert capfd.readouterr().err == ""


def test_a_wav_of_more_than_4_gib_is_refused(tmp_path: Path) -> None:
    """A WAV counts its bytes in 32 bits; FLAC does not."""
    hours = 7 * 3600 * 48_000
    with pytest.raises(
        RequestError, match=r"long\.wav would be larger than the 4 GiB .* write \.flac"
    ):
        check_length(tmp_path / "long.wav", hours, channels=2)
    check_length(tmp_path / "long.wav", hours // 2, channels=2)
    check_length(tmp_path / "long.flac", hours, channels=2)


def test_a_rate_that_mp3_does_not_know_is_refused(tmp_path: Path) -> None:
    """One line says which rates there are."""
    with pytest.raises(
        RequestError, match=r"MP3 holds 16000, .* 48000 samples a second, not 96000"
    ):
        write(tmp_path / "a.mp3", sines(0.1), 96_000)
    assert names(tmp_path) == []


def test_what_the_library_refuses_is_one_line(tmp_path: Path) -> None:
    """More channels than MP3 has: the library's own words, in one sentence, and no file."""
    with pytest.raises(FileError, match=r"cannot write .*a\.mp3: the sound library refuses"):
        write(tmp_path / "a.mp3", sines(0.1, channels=5))
    assert names(tmp_path) == []


def test_every_ending_has_its_kind() -> None:
    """The table is read by its keys in lower case."""
    assert [kind_of(Path(f"x{ending}")).container for ending in ENDINGS] == [
        "WAV",
        "FLAC",
        "OGG",
        "MP3",
    ]
