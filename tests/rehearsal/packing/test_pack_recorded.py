"""A pack over a recorded accompaniment: every rung on its mapped beats, slowed."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.coach.practice_order import Step
from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.packing.pack import make_pack
from rhythmtrain.rehearsal.packing.recorded import Beside, at_recorded_tempo, ladder_track
from rhythmtrain.rehearsal.packing.tracks import pack_tracks
from rhythmtrain.rehearsal.packing.wish import PackWish
from rhythmtrain.rehearsal.passages.passages import whole_passage
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES
from rhythmtrain.rehearsal.tracks.model import Taught
from rhythmtrain.rehearsal.tracks.track import layers_named
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.score.passage import notes_of
from rhythmtrain.units import Bpm

RATE = 22_050
DRILL = """title = "Ferry Song"
metre = "2/4"
tempo = 60
rhythm = "1 2 | (1) & 2 | 1 (2) | 1 2"
tune = "C5 D5 | E5 F5 | G5 | C5 D5"
[accompaniment]
recording = "piano.wav"
beats = "piano.beats"
"""
TIMES = (1.0, 1.61, 2.16, 2.68, 3.28, 3.94, 4.52, 5.02, 5.56, 6.19)
LAYERS = "accompaniment,click,count"
MODEL = '[model]\nrecording = "voice.wav"\nbeats = "piano.beats"\n'


def write_tones(path: Path, hertz: float) -> None:
    """Write a recording of one tone on each of the beats."""
    n = np.arange(8 * RATE)
    sound = np.zeros(8 * RATE)
    for second in TIMES:
        since = n / RATE - second
        fading = np.where(since >= 0, np.exp(-since.clip(0) / 0.15), 0)
        sound += fading * np.sin(2 * np.pi * hertz * since)
    soundfile.write(path, 0.3 * sound, RATE)


@pytest.fixture
def ferry(tmp_path: Path) -> Path:
    """Return a drill with a recording of one chord on each beat of bars 0 to 4, and its map."""
    write_tones(tmp_path / "piano.wav", 330)
    lines = [f"{second}\t{number // 2}.{1 + number % 2}" for number, second in enumerate(TIMES)]
    (tmp_path / "piano.beats").write_text("\n".join(lines), encoding="utf-8")
    path = tmp_path / "ferry.toml"
    path.write_text(DRILL, encoding="utf-8")
    return path


def test_the_tracks_of_every_rung_have_the_slowed_recording_under_click_and_count(
    ferry: Path,
) -> None:
    """The clicks are the accompanist's own beats, at the tempo of the rung."""
    whole = whole_passage(str(ferry))
    beside = Beside(str(ferry), whole, NO_FILES)
    passage = at_recorded_tempo(whole, beside)
    assert passage.tempo == pytest.approx(60 * 8 / (TIMES[-1] + 0.63 - TIMES[2]), abs=0.05)
    track = next(iter(pack_tracks((Bpm(passage.tempo / 2),), "wav")))
    layers = frozenset({Layer.ACCOMPANIMENT, Layer.CLICK, Layer.COUNT})
    plan, pieces = ladder_track(passage, track, layers, beside=beside)
    clicks = [each.time_s for each in plan.prompts if each.layer is Layer.CLICK]
    assert clicks[:10] == pytest.approx([2 * (each - TIMES[0]) for each in TIMES], abs=1e-6)
    assert len(pieces) == 2
    assert any(each.layer is Layer.TUNE for each in plan.prompts) is False


def test_a_pack_is_written_over_the_recording(ferry: Path) -> None:
    """Where nothing is clapped nothing is answered; each is heard to its last chord, and the ladder ends at its tempo."""
    out = ferry.parent / "out"
    told = make_pack(PackWish((str(ferry),), rungs=2, ending="ogg", layers=LAYERS), out)
    (part,) = told.document["passages"]
    steps = [name.split("-", 1)[1].rsplit("-", 1)[0] for name in part["files"][:-2]]
    assert steps == ["listen", "with-help", "alone", "with-help", "alone"]
    assert part["tempi"][-1] == pytest.approx(102.6, abs=3)
    sound, rate = soundfile.read(out / "ferry" / part["files"][-3])
    assert rate == 44_100
    bare, _ = soundfile.read(out / "ferry" / part["files"][0])
    assert np.sqrt(np.mean(sound**2)) > 0.01
    played_s = 2 * 10 * 60 / part["tempi"][0]
    assert played_s <= len(bare) / rate < played_s + 4


def test_with_the_clap_bars_are_heard_over_the_recording_and_answered(ferry: Path) -> None:
    """The piano goes back to where they began, and has sounded twice when all is answered."""
    layers = LAYERS + ",clap"
    beside = Beside(str(ferry), whole_passage(str(ferry)))
    passage = at_recorded_tempo(beside.whole, beside)
    track = next(each for each in pack_tracks((passage.tempo,), "ogg") if each.step is Step.ECHO)
    plan, pieces = ladder_track(passage, track, layers_named(layers), beside=beside)
    assert len(pieces) > 1
    sounds_s = sum(piece.laid.anchors[-1][1] - piece.laid.anchors[0][1] for piece in pieces)
    lead_s, once_s = TIMES[2] - TIMES[0], TIMES[-1] + 0.63 - TIMES[2]
    assert sounds_s == pytest.approx(lead_s + 2 * once_s, rel=0.01)
    claps = [each for each in plan.prompts if each.layer is Layer.CLAP]
    assert len(claps) == len(notes_of(passage.bars))
    out = ferry.parent / "out"
    wish = PackWish((str(ferry),), rungs=1, ending="ogg", layers=layers)
    (part,) = make_pack(wish, out).document["passages"]
    assert any("-echo-" in name for name in part["files"])


@pytest.fixture
def taught(ferry: Path) -> Path:
    """Return the drill with a teacher's playing: a tone of another pitch on each mapped beat."""
    write_tones(ferry.parent / "voice.wav", 880)
    ferry.write_text(DRILL + MODEL, encoding="utf-8")
    return ferry


def strength(sound: np.ndarray, rate: int, hertz: float) -> float:
    """Return how strongly ``hertz`` sounds, next to all that sounds."""
    power = np.abs(np.fft.rfft(sound)) ** 2
    bins = np.fft.rfftfreq(len(sound), 1 / rate)
    return float(power[np.abs(bins - hertz) < 6].sum() / power.sum())


@pytest.mark.parametrize("layers", [None, LAYERS.replace("accompaniment", "accompaniment,clap")])
def test_one_listens_to_the_teacher_slowed_like_all_else(taught: Path, layers: str | None) -> None:
    """With the piano or without; what follows is practised without the teacher."""
    out = taught.parent / "out"
    told = make_pack(PackWish((str(taught),), rungs=2, ending="wav", layers=layers), out)
    (part,) = told.document["passages"]
    listen, later = part["files"][0], part["files"][-3]
    assert ("-listen-" in listen, "-alone-" in later) == (True, True)
    heard, rate = soundfile.read(out / "ferry" / listen)
    without, _ = soundfile.read(out / "ferry" / later)
    assert rate == 44_100
    assert strength(heard, rate, 880) > 0.05
    assert strength(without, rate, 880) < 0.01
    assert told.warnings == ()


def test_the_teacher_s_strokes_fall_on_the_notes_of_every_rung(taught: Path) -> None:
    """At half the tempo of the drill each mapped beat lies where the track's beat is."""
    passage = whole_passage(str(taught))
    tracks = list(pack_tracks((Bpm(30.0),), "wav"))
    layers = frozenset({Layer.CLAP, Layer.CLICK})
    model = Taught(str(taught), passage)
    plan, pieces = ladder_track(passage, tracks[0], layers, taught=model)
    (first, *_) = (piece.laid for piece in pieces)
    assert [second for second, _ in first.anchors[:8]] == pytest.approx(TIMES[2:])
    assert [second for _, second in first.anchors[:8]] == pytest.approx(4.0 + 2.0 * np.arange(8))
    assert {each.layer for each in plan.prompts} == {Layer.CLICK, Layer.TUNE}
    midi, none = ladder_track(passage, tracks[-1], layers, taught=model)
    assert none == ()
    assert any(each.layer is Layer.TUNE and each.pitches for each in midi.prompts)


def test_a_model_without_a_map_is_said_and_the_pack_is_made(ferry: Path) -> None:
    """The tune is made by the program meanwhile."""
    ferry.write_text(DRILL + '[model]\nrecording = "piano.wav"\n', encoding="utf-8")
    told = make_pack(PackWish((str(ferry),), rungs=1, ending="wav"), ferry.parent / "out")
    assert told.failure == ""
    (said,) = told.warnings
    assert "is packed without its model: nobody has said where the bars of piano.wav fall" in said


def test_a_drill_without_a_recording_fails_alone_and_says_what_to_do(ferry: Path) -> None:
    """The others of the folder are made."""
    bare = ferry.parent / "bare.toml"
    bare.write_text(DRILL.partition("[")[0], encoding="utf-8")
    wish = PackWish((str(ferry), str(bare)), rungs=1, ending="ogg", layers=LAYERS)
    told = make_pack(wish, ferry.parent / "out")
    assert [each["name"] for each in told.document["passages"]] == ["ferry"]
    assert "name it in the drill under [accompaniment]" in as_typed(told.failure)


@pytest.mark.parametrize(
    ("passages", "layers", "words"),
    [
        (("a",), None, "add accompaniment to .*layers"),
        (("a", "b"), LAYERS, "name each recording in its drill"),
        (("a",), "piano", "there is no layer 'piano'"),
    ],
)
def test_wishes_that_do_not_go_together_are_one_sentence(
    tmp_path: Path, passages: tuple[str, ...], layers: str | None, words: str
) -> None:
    """Before anything is written."""
    wish = PackWish(passages, layers=layers, accompaniment=tmp_path / "p.wav")
    with pytest.raises(RequestError, match=words):
        make_pack(wish, tmp_path / "out")
