"""Whatever a phone, a camera or a video site writes is mapped and slowed, or named in one sentence."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import RhythmtrainError
from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from tests.simulate.sound_files import CHANNELS, Kind, strokes, written

FIRST_S, BEAT_S, BEATS = 0.5, 0.5, 9
MARKS = MapWish(at=("1=0.5", "2.4=4.0"), bars_count=2)
PLAIN = tuple(
    Kind(ending, codec, plain=True)
    for ending, codec in (
        (".wav", "PCM_U8"), (".wav", "PCM_24"), (".wav", "PCM_32"), (".wav", "FLOAT"),
        (".wav", "IMA_ADPCM"), (".flac", "PCM_24"), (".ogg", "VORBIS"), (".aiff", "PCM_16"),
        (".caf", "ALAC_16"),
    )
)  # fmt: skip
RATES = tuple(Kind(".wav", "PCM_16", rate, "mono", plain=True) for rate in (8000, 12_345, 192_000))
CODED = (
    Kind(".ogg", "libopus", 48_000),
    Kind(".mp3", "libmp3lame", 8000, "mono"),
    Kind(".m4a", "aac"),
    Kind(".m4a", "alac"),
    Kind(".aac", "aac"),
    Kind(".opus", "libopus", 48_000, "mono"),
    Kind(".amr", "libopencore_amrnb", 8000, "mono"),
    Kind(".3gp", "libopencore_amrnb", 8000, "mono"),
)
FILMS = (
    Kind(".mp4", "aac", film=True),
    Kind(".mov", "pcm_s16le", 48_000, film=True),
    Kind(".mkv", "ac3", 48_000, "5.1", film=True),
    Kind(".webm", "libopus", 48_000, film=True),
    Kind(".avi", "libmp3lame", film=True),
)
SURROUND = Kind(".wav", "PCM_16", 48_000, "5.1", plain=True)
SLOWED = (CODED[2], CODED[6], FILMS[2], SURROUND, RATES[1])


def piano(folder: Path, kind: Kind) -> Path:
    """Return a recording of nine strokes as ``kind``."""
    sound = strokes(kind.rate, CHANNELS[kind.layout], first_s=FIRST_S, beat_s=BEAT_S, beats=BEATS)
    return written(folder, kind, sound)


def beats_of(path: Path) -> np.ndarray:
    """Return the mapped beats of two bars."""
    beats = map_recording(path, MARKS).document["beats"]
    return np.array([beat["time_s"] for beat in beats])


@pytest.mark.parametrize("kind", [*PLAIN, *RATES, SURROUND, *CODED, *FILMS], ids=str)
def test_every_kind_of_file_is_mapped(tmp_path: Path, kind: Kind) -> None:
    """Beats within 20 ms, whatever the codec, the rate and the channels."""
    found_s = beats_of(piano(tmp_path, kind))
    assert np.abs(found_s - FIRST_S - BEAT_S * np.arange(8)).max() < 0.02


@pytest.mark.parametrize("kind", SLOWED, ids=str)
def test_every_kind_of_file_is_slowed(tmp_path: Path, kind: Kind) -> None:
    """A track at half speed has its strokes twice as far apart."""
    recording = piano(tmp_path, kind)
    beats = tmp_path / "piano.beats"
    lines = [f"{FIRST_S + BEAT_S * n}\t{1 + n // 4}.{1 + n % 4}" for n in range(9)]
    beats.write_text("\n".join(lines), encoding="utf-8")
    drill = tmp_path / "ferry.toml"
    drill.write_text(
        'title = "Ferry"\nmetre = "4/4"\ntempo = 120\nrhythm = "1 2 3 4 | 1 2 3 4"\n',
        encoding="utf-8",
    )
    wish = TrackWish(
        str(drill),
        speed=0.5,
        lead_in=0,
        layers="accompaniment",
        accompaniment=recording,
        beats=beats,
    )
    make_track(wish, tmp_path / "slow.wav")
    sound, rate = soundfile.read(tmp_path / "slow.wav")
    power = np.convolve(sound[:, 0] ** 2, np.ones(rate // 200), "same")
    rises = np.array([
        int(np.argmax(power[start : start + rate // 2] > 0.2 * power.max())) + start
        for start in (int((n - 0.25) * rate) for n in range(1, 7))
    ])  # fmt: skip
    assert np.abs(np.diff(rises) / rate - 2 * BEAT_S).max() < 0.03


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        (CODED[2], "piano.wav"), (PLAIN[1], "piano.m4a"), (CODED[5], "piano.ogg"),
        (FILMS[3], "piano.flac"), (CODED[2], "piano"),
    ],
    ids=str,
)  # fmt: skip
def test_a_file_that_is_not_what_it_is_called_is_read(
    tmp_path: Path, kind: Kind, name: str
) -> None:
    """Somebody renamed it, or an app did."""
    path = piano(tmp_path, kind).rename(tmp_path / name)
    assert beats_of(path)[3] == pytest.approx(FIRST_S + 3 * BEAT_S, abs=0.02)


@pytest.mark.parametrize("kind", [PLAIN[1], PLAIN[5], PLAIN[6], *CODED[::2], *FILMS[::2]], ids=str)
def test_half_a_file_is_one_sentence_or_half_the_music(tmp_path: Path, kind: Kind) -> None:
    """A download that broke off: never a traceback."""
    path = piano(tmp_path, kind)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    try:
        found_s = beats_of(path)
    except RhythmtrainError as error:
        said = str(error)
        assert "\n" not in said
        assert any(word in said for word in ("again", "lasts", "cut short", "room", "ends"))
    else:
        assert np.abs(found_s[:4] - FIRST_S - BEAT_S * np.arange(4)).max() < 0.02
