"""Mapping a recording from its file: what is written, what is said, what is refused."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import FileError, RequestError, RhythmtrainError, TakeError
from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.recorded.marks import MapWish, seconds_of
from rhythmtrain.render.voices import BEAT, DOWNBEAT, struck
from rhythmtrain.storage.beat_maps import load_beat_map, load_taps
from tests.simulate.performances import Performed, perform
from tests.simulate.tappers import tapped

# A development seed: how well maps come out is held in tests/notate, here that files and words agree.
SEED = 3


@pytest.fixture(scope="module")
def played() -> Performed:
    """Return a steady accompanist's twenty bars, with applause after them."""
    return perform(SEED, expressive=False, bars=20, applause_s=4.0)


@pytest.fixture(scope="module")
def taps_s(played: Performed) -> np.ndarray:
    """Return a person's taps on all beats."""
    return tapped(np.random.default_rng(SEED), played.beats_s)


@pytest.fixture
def piano(tmp_path: Path, played: Performed) -> Path:
    """Return the recording as a file."""
    path = tmp_path / "piano.flac"
    soundfile.write(path, played.sound, played.rate)
    return path


def taps_file(folder: Path, times: np.ndarray) -> Path:
    """Write taps as a person's phone would: one second a line."""
    path = folder / "taps.txt"
    path.write_text("".join(f"{time:.3f}\n" for time in times), encoding="utf-8")
    return path


def metre_of(played: Performed) -> str:
    """Return the metre that a person would type."""
    return f"{played.piece.beats}/4"


def test_two_bars_and_the_end_make_a_map_that_reads_back(
    piano: Path, played: Performed, taps_s: np.ndarray, tmp_path: Path
) -> None:
    """From nine taps to a file, and every number in it means what it says."""
    goal = tmp_path / "piano.beats"
    bar = played.piece.beats
    told = map_recording(
        piano,
        MapWish(
            taps=taps_file(tmp_path, taps_s[: 2 * bar]),
            bars_count=20,
            end=f"{played.downbeats_s[-1]:.2f}",
            metre=metre_of(played),
            output=goal,
        ),
    )
    written = load_beat_map(goal)
    assert written.bars == (1, 20)
    assert [beat.bar for beat in written.beats] == [
        1 + number // bar for number in range(len(written.beats))
    ]
    away = [beat.time_s for beat in written.beats] - played.beats_s[: len(written.beats)]
    assert np.mean(np.abs(away) < 0.07) > 0.9
    document = told.document
    assert document["recording"] == "piano.flac"
    assert document["duration_s"] == pytest.approx(played.sound.size / played.rate)
    assert [beat["time_s"] for beat in document["beats"]] == pytest.approx(
        [beat.time_s for beat in written.beats], abs=1e-4
    )
    assert "bars 1 to 20" in told.text
    assert f"Written to {goal}." in told.text


def test_four_bars_in_the_middle_are_enough_for_an_entry(
    piano: Path, played: Performed, taps_s: np.ndarray, tmp_path: Path
) -> None:
    """A teacher with a recording and five minutes: only the bars that matter."""
    bar = played.piece.beats
    start = float(played.downbeats_s[9]) - 2.0
    told = map_recording(
        piano,
        MapWish(
            taps=taps_file(tmp_path, taps_s[9 * bar : 13 * bar]),
            bars="10-13",
            start=f"{start:.2f}",
            metre=metre_of(played),
        ),
    )
    beats = told.document["beats"]
    assert [(beats[0]["bar"], beats[0]["beat"]), (beats[-1]["bar"], beats[-1]["beat"])] == [
        (10, 1),
        (13, bar),
    ]
    away = np.array([beat["time_s"] for beat in beats]) - played.beats_s[9 * bar : 13 * bar]
    assert np.median(np.abs(away)) < 0.02
    assert np.abs(away).max() < 0.07


def test_marking_a_doubtful_bar_settles_it(piano: Path, played: Performed) -> None:
    """It names a bar; the person marks it and maps again: that bar is now right and sure."""
    marks = [f"1={played.downbeats_s[0]:.2f}", f"17={played.downbeats_s[16]:.2f}"]
    wish = MapWish(at=(*marks, f"9={played.downbeats_s[8]:.2f}"), metre=metre_of(played))
    document = map_recording(piano, wish).document
    ninth = next(beat for beat in document["beats"] if beat["bar"] == 9)
    assert ninth["time_s"] == pytest.approx(played.downbeats_s[8], abs=0.05)
    assert ninth["uncertainty_s"] < 0.03


def test_doubt_is_said_with_bars_to_hear_and_what_to_type(tmp_path: Path) -> None:
    """A drone has no beats: every bar is unsure, the worst first."""
    t = np.arange(20 * 22_050) / 22_050
    path = tmp_path / "drone.wav"
    soundfile.write(path, 0.3 * np.sin(2 * np.pi * 220 * t), 22_050)
    told = map_recording(path, MapWish(at=("1=2", "9=18")))
    assert told.document["unsure_bars"]
    worst = told.document["unsure_bars"][0]
    assert f"Hear these bars first: {worst} (" in told.text
    assert f"--at {worst}=" in told.text


def test_clicks_over_the_recording_begin_on_the_mapped_beats(
    piano: Path, played: Performed, tmp_path: Path
) -> None:
    """What one hears is the map itself, to the sample."""
    check = tmp_path / "check.wav"
    marks = tuple(f"{bar}={played.downbeats_s[bar - 1]:.2f}" for bar in (1, 5, 9))
    told = map_recording(piano, MapWish(at=marks, metre=metre_of(played), listen=check))
    mixed, rate = soundfile.read(check, dtype="float32")
    sound, _ = soundfile.read(piano, dtype="float32")
    assert rate == played.rate
    assert mixed.size == sound.size
    clicks = mixed - sound * (0.55 / np.abs(sound).max())
    for beat in told.document["beats"]:
        voice = struck(DOWNBEAT if beat["beat"] == 1 else BEAT, rate)
        place = round(beat["time_s"] * rate)
        assert np.abs(clicks[place : place + 200] - 0.3 * voice[:200]).max() < 2e-4
        assert np.abs(clicks[place - 200 : place]).max() < 2e-4
    assert np.abs(mixed).max() < 1


def test_taps_may_come_from_a_midi_pad(tmp_path: Path) -> None:
    """Whatever the person tapped on."""
    mido = pytest.importorskip("mido")
    file = mido.MidiFile(ticks_per_beat=480)
    track = mido.MidiTrack()
    file.tracks.append(track)
    for _ in range(4):
        track.append(mido.Message("note_on", note=38, velocity=90, time=240))
        track.append(mido.Message("note_off", note=38, time=240))
    path = tmp_path / "taps.mid"
    file.save(path)
    assert load_taps(path) == pytest.approx((0.25, 0.75, 1.25, 1.75))


@pytest.mark.parametrize(
    ("text", "seconds"), [("92.5", 92.5), ("1:32.5", 92.5), ("0:07", 7.0), (" 3 ", 3.0)]
)
def test_seconds_are_read_as_players_show_them(text: str, seconds: float) -> None:
    """Copied from the display."""
    assert seconds_of(text) == seconds


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (MapWish(), "nothing says where the bars are"),
        (MapWish(at=("1=0.5",)), "one mark does not tell the tempo"),
        (MapWish(at=("1=0.5", "5=x")), "at.5=x. does not read: write bar=seconds"),
        (MapWish(at=("1.2.3=0.5", "5=9")), "at.1.2.3=0.5.: '1.2.3' is not a bar"),
        (MapWish(at=("1=0.5", "5=9"), bars="2-9"), "names.bar 1., but bars 2-9 are to be mapped"),
        (MapWish(at=("1.5=0.5", "5=9")), "names.beat 5., but a bar has 4: check .*metre"),
        (MapWish(at=("1=9", "5=0.5")), "go backwards"),
        (MapWish(at=("1=1", "5=900")), "lies outside the recording"),
        (MapWish(at=("1=1", "5=9"), end="12"), "say-last-bar"),
        (MapWish(at=("1=1", "5=9"), bars="1-5", bars_count=5), "not both"),
        (MapWish(at=("1=1", "5=9"), bars_count=0), "bars-count. must be 1 or more, got 0"),
        (MapWish(at=("1=1", "5=9"), bars_count=400), "ends before the last of these bars"),
        (MapWish(at=("1=1", "5=9"), start="2:00:1"), "is not a second of a recording"),
        (MapWish(at=("1=3001", "5=3009"), start="50:00"), "it has nothing from 3000 s on"),
        (MapWish(at=("1=1", "5=9"), start="4"), "lies before the 4 s .begin-earlier"),
        (MapWish(tapped_s=(1, 2, 3), start="4"), "first tap, at 1 s, lies before the 4 s .begin-e"),
        (MapWish(at=("5=1",), bars="8-5"), "bars 8-5 run backwards"),
        (MapWish(at=("1=1",), tempo=0), "tempo must be more than 0"),
        (MapWish(at=("1=1", "5=9"), metre="5"), "'5' is not a metre"),
        (MapWish(at=("1=1", "5=9"), output=Path("nowhere/at.beats")), "folder nowhere does not"),
        (MapWish(at=("1=1", "5=9"), listen=Path("check.xyz")), "cannot write .xyz"),
        (MapWish(taps=Path("none.txt")), "there is no file none.txt"),
    ],
)
def test_what_cannot_be_is_one_sentence(piano: Path, wish: MapWish, words: str) -> None:
    """Before or after listening, and nothing is written."""
    with pytest.raises(RhythmtrainError, match=words) as caught:
        map_recording(piano, wish)
    assert "\n" not in str(caught.value)


def test_more_taps_than_bars_are_counted_out_loud(
    piano: Path, played: Performed, taps_s: np.ndarray, tmp_path: Path
) -> None:
    """The metre or the bars are wrong, and it says both."""
    wish = MapWish(taps=taps_file(tmp_path, taps_s), bars="1-2", metre=metre_of(played))
    with pytest.raises(RequestError, match=r"beats were tapped, but bars 1-2 have .*metre"):
        map_recording(piano, wish)


def test_silence_and_files_that_are_no_sound_are_refused(tmp_path: Path) -> None:
    """With the file's name."""
    silent, text = tmp_path / "silent.wav", tmp_path / "text.wav"
    soundfile.write(silent, np.zeros(44_100), 44_100)
    text.write_text("no sound", encoding="utf-8")
    with pytest.raises(TakeError, match=r"silent.wav: the recording is silent"):
        map_recording(silent, MapWish(at=("1=0", "2=0.9")))
    with pytest.raises(FileError, match="not a recording that can be read"):
        map_recording(text, MapWish(at=("1=0", "2=0.9")))


def test_one_dead_channel_and_clipping_do_not_stop_a_map(played: Performed, tmp_path: Path) -> None:
    """Recordings are what they are."""
    loud = np.clip(4 * played.sound, -1, 1)
    path = tmp_path / "hall.wav"
    soundfile.write(path, np.stack((loud, np.zeros_like(loud)), axis=1), played.rate)
    marks = tuple(f"{bar}={played.downbeats_s[bar - 1]:.2f}" for bar in range(1, 18, 4))
    document = map_recording(path, MapWish(at=marks, metre=metre_of(played))).document
    truth = played.beats_s[: len(document["beats"])]
    away = np.array([beat["time_s"] for beat in document["beats"]]) - truth
    assert np.mean(np.abs(away) < 0.07) > 0.9


def test_bars_that_cannot_fit_between_marks_are_asked_about(
    piano: Path, played: Performed, taps_s: np.ndarray, tmp_path: Path
) -> None:
    """A repeat that was played, or a wrong bar number, is said and not stretched over."""
    bar = played.piece.beats
    taps, end = taps_file(tmp_path, taps_s[: 2 * bar]), f"{played.downbeats_s[19]:.2f}"
    told = {
        bars: " ".join(
            map_recording(
                piano, MapWish(taps=taps, bars_count=bars, end=end, metre=metre_of(played))
            ).text.split()
        )
        for bars in (11, 20)
    }
    assert "is a repeat played, are bars left out, or is a bar number wrong?" in told[11]
    assert "Between bar 2 and bar 11" in told[11]
    assert "Between bar" not in told[20]


def test_a_video_without_sound_is_named(tmp_path: Path) -> None:
    """Somebody filmed with the microphone off."""
    av = pytest.importorskip("av")
    path = tmp_path / "silent.mp4"
    with av.open(str(path), "w") as file:
        stream = file.add_stream("mpeg4", rate=10)
        stream.width = stream.height = 64
        stream.pix_fmt = "yuv420p"
        for _ in range(5):
            for packet in stream.encode(av.VideoFrame(64, 64, "yuv420p")):
                file.mux(packet)
        for packet in stream.encode(None):
            file.mux(packet)
    with pytest.raises(FileError, match=r"silent\.mp4 has no sound in it"):
        map_recording(path, MapWish(at=("1=0", "2=0.9")))


def test_a_beat_map_file_that_is_wrong_is_named(tmp_path: Path) -> None:
    """The file, the line, the reason."""
    path = tmp_path / "wrong.beats"
    path.write_text("1\t1.1\n2\t1.3\n", encoding="utf-8")
    with pytest.raises(TakeError, match=r"wrong.beats: the beat map jumps from 1.1 to 1.3"):
        load_beat_map(path)
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileError, match="not a text file of seconds and beats"):
        load_beat_map(path)
    path.write_bytes(b"0" * 5_000_001)
    with pytest.raises(FileError, match="larger than 5 MB"):
        load_beat_map(path)
