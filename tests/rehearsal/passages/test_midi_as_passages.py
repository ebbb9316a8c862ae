"""A MIDI file wherever a passage is wanted: which part, written or played, mended or refused."""

from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.passages.show import ShowWish, show_passage
from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.passage import notes_of
from rhythmtrain.timing.timeline import lay_out
from tests.simulate.midi_bytes import meta, midi, note, notes, tempo, track

PIANO = track(meta(0x03, b"Piano") + b"\0\xc0\0" + notes(8, length=240))
FLUTE = track(meta(0x03, b"Flute") + b"\0\xc1\x49" + note(72, after=1920, channel=1) * 2)


def saved(folder: Path, data: bytes, name: str = "piece.mid") -> str:
    """Return the path of a file with ``data``."""
    path = folder / name
    path.write_bytes(data)
    return str(path)


def played(spread_s: float, *, click: bool) -> bytes:
    """Return eight bars played at quarter = 120, to a click or to nothing."""
    rng = np.random.default_rng(4)
    quarters = (
        np.cumsum(rng.choice([0.5, 1.0, 0.25, 0.75], 40))
        if click
        else np.cumsum(rng.uniform(0.3, 1.4, 40))
    )
    ticks = np.maximum(np.rint((quarters + rng.normal(0.06, spread_s * 2, 40)) * 480), 0)
    gaps = np.diff(np.sort(ticks), prepend=0).astype(int)
    body = b"".join(note(60, after=max(int(gap) - 20, 0), length=20) for gap in gaps)
    return midi([track(body)])


def test_a_part_is_shown_with_the_times_of_the_file(tmp_path: Path) -> None:
    """The document that other programs read has the file's own seconds."""
    body = tempo(1_000_000) + notes(2) + tempo(500_000) + notes(2)
    told = show_passage(ShowWish(saved(tmp_path, midi([track(body)]))))
    assert [each["time_s"] for each in told.document["notes"]] == pytest.approx([0, 1, 2, 2.5])


def test_part_bars_and_cue_of_a_file(tmp_path: Path) -> None:
    """The player's line, the bars asked for, and the piano's line as a cue."""
    path = saved(tmp_path, midi([PIANO, FLUTE]))
    said: list[str] = []
    passage = find_passage(path, cue_part="Piano", say=said.append)
    assert said == ["of 2 parts, part 2 is taken: Flute"]
    assert write_bars(passage.bars).startswith("rest 1 | 1")
    assert write_bars(passage.cue).startswith("1 & 2 & 3 & 4 &")
    assert write_bars(find_passage(path, "1", part="1").bars) == "1 & 2 & 3 & 4 &"
    with pytest.raises(RequestError, match="there is no part 'Oboe'"):
        find_passage(path, part="Oboe")


def test_a_drill_may_name_a_midi_file(tmp_path: Path) -> None:
    """The drill keeps a reference, and the file stands beside it."""
    saved(tmp_path, midi([PIANO, FLUTE]))
    drill = tmp_path / "drill.toml"
    drill.write_text('title = "x"\nscore = "piece.mid"\npart = "Piano"\nbars = "1"\n')
    assert write_bars(find_passage(str(drill)).bars) == "1 & 2 & 3 & 4 &"


def test_a_file_played_to_its_click_is_written_down(tmp_path: Path) -> None:
    """Lag and spread of a person are not part of the rhythm."""
    rng = np.random.default_rng(4)
    quarters = np.cumsum(rng.choice([0.5, 1.0, 0.25, 0.75], 40))
    said: list[str] = []
    passage = find_passage(saved(tmp_path, played(0.01, click=True)), say=said.append)
    told = show_passage(ShowWish(saved(tmp_path, played(0.01, click=True)))).document["notes"]
    assert [each["time_s"] for each in told] == pytest.approx(quarters / 2, abs=1e-9)
    assert passage.tempo == pytest.approx(120)
    assert "was played" in said[0]


def test_a_file_played_to_nothing_is_refused_with_what_to_do(tmp_path: Path) -> None:
    """Rounding it would give a rhythm that nobody played."""
    with pytest.raises(FileError, match=r"does not follow the file's own beats; .write-it-down"):
        find_passage(saved(tmp_path, played(0.0, click=False)))


def test_what_was_mended_is_said(tmp_path: Path) -> None:
    """Half a file is worth having, and one knows that it is half."""
    said: list[str] = []
    find_passage(saved(tmp_path, midi([track(notes(4))])[:-6]), say=said.append)
    assert "track 1 is damaged" in said[0]


def test_notes_that_stand_between_places_are_moved_and_counted(tmp_path: Path) -> None:
    """One ornament in forty notes does not make a performance of a score."""
    body = notes(30) + note(60, after=37, length=443) + notes(9)
    said: list[str] = []
    find_passage(saved(tmp_path, midi([track(body)])), say=said.append)
    assert said == ["1 of 40 notes of track 1 are moved to the nearest place"]


def test_a_tempo_that_changes_inside_a_bar_keeps_cue_and_part_side_by_side(tmp_path: Path) -> None:
    """The bar is cut at the notes of both, and all fall at the seconds of the file."""
    slow = track(tempo(900_000, after=240)) + track(meta(0x03, b"Flute") + notes(2))
    file = saved(tmp_path, midi([PIANO, slow]))
    passage = find_passage(file, part="Flute", cue_part="Piano")
    assert [bar.length for bar in passage.cue] == [bar.length for bar in passage.bars]
    alone = find_passage(file, part="Flute")
    assert [note.at for note in notes_of(passage.bars)] == [
        note.at for note in notes_of(alone.bars)
    ]
    assert len(notes_of(passage.cue)) == 8
    seconds = [lay_out(each).notes[-1] for each in (passage, alone)]
    times = [
        lay_out(each).track_seconds(last.at)
        for each, last in zip((passage, alone), seconds, strict=True)
    ]
    assert times[0] == pytest.approx(times[1], abs=1e-4)


def test_a_track_is_made_of_a_midi_file(tmp_path: Path) -> None:
    """All commands that take a passage take it."""
    path = saved(tmp_path, midi([PIANO]))
    told = make_track(TrackWish(path, layers="clap"), tmp_path / "out.mid")
    assert told.files[0].is_file()
