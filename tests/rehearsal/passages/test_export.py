"""Passages given to other programs: the same notes at the same times, or one line."""

import warnings
from pathlib import Path

import pytest

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.passages.show import ShowWish, show_passage
from rhythmtrain.score.passage import Passage, notes_of
from rhythmtrain.storage.drills import shipped_drills
from rhythmtrain.timing.timeline import lay_out

DRILLS = [drill.name for drill in shipped_drills()]


def heard(passage: Passage) -> list[tuple[float, float]]:
    """Return (second, length in seconds) of every note as played once, repeats included."""
    timeline = lay_out(passage)
    return [
        (
            timeline.track_seconds(note.at),
            timeline.track_seconds(note.at + note.note.length) - timeline.track_seconds(note.at),
        )
        for note in timeline.notes
    ]


def onsets_in_partitura(path: Path) -> list[float]:
    """Return the seconds at which notes of the tune begin, as partitura reads the file."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import partitura  # noqa: PLC0415  (warns when imported, and slow)

        parts = partitura.load_performance_midi(str(path)).performedparts
    return sorted({note["note_on"] for part in parts[:1] for note in part.notes})


@pytest.mark.parametrize("name", DRILLS)
def test_midi_has_the_same_notes_at_the_same_times(name: str, tmp_path: Path) -> None:
    """For another program, and for ours when it reads the file again."""
    output = tmp_path / "x.mid"
    show_passage(ShowWish(name, output=output))
    wanted = heard(find_passage(name))
    assert onsets_in_partitura(output) == [pytest.approx(second, abs=0.002) for second, _ in wanted]
    again = heard(find_passage(str(output), part="Tune"))
    assert [second for second, _ in again] == [pytest.approx(s, abs=0.002) for s, _ in wanted]


def test_a_rhythm_without_pitches_keeps_its_lengths_in_midi(tmp_path: Path) -> None:
    """Strokes would lose the rests."""
    drill = tmp_path / "plain.toml"
    drill.write_text('title = "P"\nmetre = "2/4"\ntempo = 60\nrhythm = "1 (&) 2 | (1) & [2]"\n')
    show_passage(ShowWish(str(drill), output=tmp_path / "p.mid"))
    again = find_passage(str(tmp_path / "p.mid"))
    lengths = [(note.count, float(note.length)) for note in notes_of(again.bars)]
    assert lengths == [("1", 0.5), ("2", 1), ("1&", 1.5)]
    assert not any(bar.landmarks for bar in again.bars)


@pytest.mark.parametrize("name", DRILLS)
def test_a_drill_file_reads_back_the_same(name: str, tmp_path: Path) -> None:
    """Whoever exports a drill may change it and practise it."""
    output = tmp_path / "again.toml"
    told = show_passage(ShowWish(name, output=output))
    assert find_passage(str(output)) == find_passage(name)
    assert told.files == (output,)
    assert str(output) in told.text


def test_text_goes_to_the_terminal_where_no_file_is_named() -> None:
    """A pipe takes it from there."""
    told = show_passage(ShowWish("off-beats", bars="1-2", form="musicxml"))
    assert told.text.startswith("<?xml")
    assert told.document["text"].strip() == told.text
    assert told.document["bars"] == 2
    assert show_passage(ShowWish("off-beats", form="toml")).text.startswith("title = ")


def test_what_is_lost_is_said(tmp_path: Path) -> None:
    """A score does not say how one counts."""
    wish = ShowWish("seven-in-groups", form="musicxml", output=tmp_path / "x.xml")
    assert "group" in show_passage(wish).warnings[0]
    assert not show_passage(ShowWish("off-beats", form="musicxml")).warnings


@pytest.mark.parametrize(
    ("form", "name", "words"),
    [
        ("midi", None, "say where it goes with -o"),
        ("toml", "x.mid", "a passage as toml ends in .toml"),
        (None, "x.doc", "a passage ends in .musicxml"),
        ("musicxml", "x", "got 'x'"),
    ],
)
def test_a_form_and_a_file_that_do_not_go_together_are_refused(
    form: str | None, name: str | None, words: str, tmp_path: Path
) -> None:
    """Before anything is written."""
    output = None if name is None else tmp_path / name
    with pytest.raises(RequestError, match=words):
        show_passage(ShowWish("off-beats", form=form, output=output))
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """In one line."""
    with pytest.raises(FileError, match="does not exist"):
        show_passage(ShowWish("off-beats", output=tmp_path / "no" / "x.mid"))
