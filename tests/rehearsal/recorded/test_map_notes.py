"""Mapping by the accompanist's notes, from the files a musician has."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import FileError, RequestError, RhythmtrainError, TakeError
from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.storage.beat_maps import load_beat_map
from tests.simulate.performances import Performed, Piece, perform, perform_in_order
from tests.simulate.piece_midi import midi_of

SEED, BARS = 7, 16


def musicxml_of(piece: Piece, *, repeat: int = 0) -> str:
    """Return the chords of ``piece`` on its beats' halves as MusicXML; ``repeat`` bars come twice."""
    bars = []
    for bar in range(piece.bars):
        signs = "<barline location='right'><repeat direction='backward'/></barline>"
        notes = "".join(
            _slot(piece, bar * piece.beats + half / 2) for half in range(2 * piece.beats)
        )
        head = ""
        if not bar:
            head = (
                "<attributes><divisions>2</divisions><time><beats>"
                f"{piece.beats}</beats><beat-type>4</beat-type></time></attributes>"
            )
        end = signs if bar + 1 == repeat else ""
        bars.append(f"<measure number='{bar + 1}'>{head}{notes}{end}</measure>")
    return (
        "<score-partwise version='4.0'><part-list><score-part id='P1'><part-name>Piano</part-name>"
        f"</score-part></part-list><part id='P1'>{''.join(bars)}</part></score-partwise>"
    )


def _slot(piece: Piece, at: float) -> str:
    pitches = sorted({int(p) for p in piece.pitch[np.abs(piece.onset - at) < 0.01]})
    if not pitches:
        return "<note><rest/><duration>1</duration></note>"
    names = ("C", "C", "D", "D", "E", "F", "F", "G", "G", "A", "A", "B")
    sharp = (0, 1, 0, 1, 0, 0, 1, 0, 1, 0, 1, 0)
    return "".join(
        f"<note>{'<chord/>' if place else ''}<pitch><step>{names[p % 12]}</step>"
        f"<alter>{sharp[p % 12]}</alter><octave>{p // 12 - 1}</octave></pitch>"
        "<duration>1</duration></note>"
        for place, p in enumerate(pitches)
    )


@pytest.fixture(scope="module")
def played() -> Performed:
    """Return a steady accompanist's sixteen bars, with applause after them."""
    return perform(SEED, expressive=False, bars=BARS, applause_s=5.0)


@pytest.fixture
def piano(tmp_path: Path, played: Performed) -> Path:
    """Return the recording as a file."""
    path = tmp_path / "piano.flac"
    soundfile.write(path, played.sound, played.rate)
    return path


def _right(document: dict[str, object], truth: np.ndarray) -> float:
    beats = document["beats"]
    assert isinstance(beats, list)
    away = np.array([beat["time_s"] for beat in beats]) - truth[: len(beats)]
    return float(np.mean(np.abs(away) < 0.07))


def test_a_midi_file_of_the_accompaniment_maps_every_bar(
    piano: Path, played: Performed, tmp_path: Path
) -> None:
    """Nothing is tapped, and the map remembers the notes."""
    notes, goal = tmp_path / "piano.mid", tmp_path / "piano.beats"
    notes.write_bytes(midi_of(played.piece))
    told = map_recording(piano, MapWish(notes=notes, output=goal))
    assert load_beat_map(goal).bars == (1, BARS)
    assert _right(told.document, played.beats_s) >= 0.93
    assert f"# kept: notes {notes}" in goal.read_text(encoding="utf-8")
    beat = told.document["beats"][4 * played.piece.beats]
    assert (beat["bar"], beat["beat"]) == (5, 1)
    moved = beat["time_s"] + 0.2
    again = map_recording(piano, MapWish(again=goal, at=(f"5={moved:.2f}",)))
    assert again.document["beats"][4 * played.piece.beats]["time_s"] == pytest.approx(
        moved, abs=0.08
    )


def test_musicxml_maps_with_its_repeat_played_and_numbers_the_bars_on(tmp_path: Path) -> None:
    """Eight bars twice as printed: the recording plays 24 bars, and so does the map."""
    order = ((0, 7), (0, 15))
    once = perform(SEED, expressive=False, bars=BARS)
    played = perform_in_order(SEED, order, expressive=False, bars=BARS)
    path, notes = tmp_path / "twice.flac", tmp_path / "piano.musicxml"
    soundfile.write(path, played.sound, played.rate)
    notes.write_text(musicxml_of(once.piece, repeat=8), encoding="utf-8")
    told = map_recording(path, MapWish(notes=notes))
    assert told.document["beats"][-1]["bar"] == BARS + 8
    assert _right(told.document, played.beats_s) >= 0.9


def test_bars_left_out_are_asked_about_and_then_obeyed(tmp_path: Path) -> None:
    """A cut is never stretched over."""
    order = ((0, 4), (11, 15))
    once = perform(SEED, expressive=False, bars=BARS)
    played = perform_in_order(SEED, order, expressive=False, bars=BARS)
    path, notes = tmp_path / "cut.flac", tmp_path / "piano.mid"
    soundfile.write(path, played.sound, played.rate)
    notes.write_bytes(midi_of(once.piece))
    with pytest.raises(RequestError, match=r"seems to play 1-5,12-16.*say-order.1-5,12-16"):
        map_recording(path, MapWish(notes=notes))
    told = map_recording(path, MapWish(notes=notes, order="1-5,12-16"))
    assert _right(told.document, played.beats_s) >= 0.9


def test_notes_of_another_piece_are_refused(piano: Path, tmp_path: Path) -> None:
    """A wrong file is said at once."""
    notes = tmp_path / "other.mid"
    notes.write_bytes(midi_of(perform(SEED + 50, expressive=False, bars=BARS).piece))
    with pytest.raises(TakeError, match="these notes do not fit this recording"):
        map_recording(piano, MapWish(notes=notes))


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"order": "1-99"}, "order.1-99. does not read"),
        ({"order": "8-2"}, "8-2 runs backwards"),
        ({"bars": "40-50"}, "the notes have bars 1-16, not 40-50"),
        ({"part": "Tuba"}, "there is no part 'Tuba'"),
        ({"at": ("99=3.0",)}, r"at.99=3.0.: the notes have no beat 99.1"),
        ({"live": True, "dry_run": True}, "nothing has to be tapped"),
    ],
)
def test_wishes_that_the_notes_cannot_fulfil_are_one_sentence(
    piano: Path, played: Performed, tmp_path: Path, wish: dict[str, object], words: str
) -> None:
    """With the notes' own bars and parts."""
    notes = tmp_path / "piano.mid"
    notes.write_bytes(midi_of(played.piece))
    with pytest.raises(RhythmtrainError, match=words):
        map_recording(piano, MapWish(notes=notes, **wish))  # type: ignore[arg-type]


def test_files_that_hold_no_notes_are_named(piano: Path, tmp_path: Path) -> None:
    """Another ending, percussion alone, no such file."""
    drums = tmp_path / "drums.mid"
    drums.write_bytes(midi_of(perform(SEED, expressive=False, bars=8).piece, channel=9))
    with pytest.raises(RequestError, match="must be MusicXML or MIDI"):
        map_recording(piano, MapWish(notes=tmp_path / "piano.pdf"))
    with pytest.raises(FileError, match="holds only percussion"):
        map_recording(piano, MapWish(notes=drums))
    with pytest.raises(FileError, match="there is no file"):
        map_recording(piano, MapWish(notes=tmp_path / "none.musicxml"))
