"""A teacher's folder of recordings: everybody heard, nobody stopped by another, names kept there."""

import os
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.classes.room import hear_class
from rhythmtrain.rehearsal.classes.student import StudentJob, hear_student
from rhythmtrain.rehearsal.classes.wish import class_wish
from rhythmtrain.rehearsal.told import quietly
from rhythmtrain.storage.alone import first_in
from rhythmtrain.storage.class_folder import Student, begin_notes, read_notes, students_in
from rhythmtrain.storage.places import user_folder
from tests.rehearsal.conftest import RAG

RATE = 22_050
Handed = Callable[..., Path]


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let nothing reach anybody's own history."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))


@pytest.fixture
def room(tmp_path: Path) -> Path:
    """Return a class's folder with the drill that they were given."""
    folder = tmp_path / "tuesday"
    folder.mkdir()
    (folder / "rag.toml").write_text(RAG, encoding="utf-8")
    return folder


@pytest.fixture
def handed(room: Path, times_s: list[float]) -> Handed:
    """Return a function that lays a recording into the folder, as a list of times."""

    def hand(name: str, *, without: tuple[int, ...] = (), late: int | None = None) -> Path:
        path = room / name
        path.parent.mkdir(exist_ok=True)
        times = [
            time + 0.2 * (place == late)
            for place, time in enumerate(times_s)
            if place not in without
        ]
        path.write_text("".join(f"{time:.4f}\n" for time in times), encoding="utf-8")
        return path

    return hand


WISH: dict[str, Any] = {"speed": 1.0, "repeats": 2}


def heard(room: Path, **wish: Any) -> dict[str, Any]:
    """Return the document of a class."""
    return hear_class(room, typed=WISH | wish).document


def test_everybody_is_heard_and_failures_stop_nobody(room: Path, handed: Handed) -> None:
    """A folder each or a file each, several tries, a damaged clip, a photo, an empty folder."""
    handed("Béla.txt")
    handed("Anna/one.txt", without=(2, 3, 4))
    handed("Anna/two.txt")
    (room / "Carla.m4a").write_bytes(b"rubbish")
    (room / "photo.jpg").write_bytes(b"a picture")
    (room / "Dora").mkdir()
    told = hear_class(room, typed=WISH)
    rows = told.document["students"]
    assert [row["name"] for row in rows] == ["Anna", "Béla"]
    assert rows[0]["recording"] == "Anna/two.txt"
    assert [other["recording"] for other in rows[0]["others"]] == ["Anna/one.txt"]
    assert [(each["recording"]) for each in told.document["not_heard"]] == ["Carla.m4a", "Dora"]
    assert str(room) not in told.document["not_heard"][0]["why"]
    assert told.failure == ""
    assert not user_folder().exists()


def test_a_cell_says_what_is_amiss_in_its_bar_in_shape_and_words(
    room: Path, handed: Handed
) -> None:
    """And what was not reached is said to be so, not to be wrong."""
    handed("Anna.txt", without=(0, 17), late=7)
    handed("Béla.txt", without=tuple(range(9, 40)))
    anna, bela = heard(room)["students"]
    cells = {cell["bar"]: cell["words"] for cell in anna["bars"]}
    assert cells[1] == "1 not heard"
    assert sum(words == "late" for words in cells.values()) == 1
    assert cells[11] == "right"
    assert {cell["words"] for cell in bela["bars"][-2:]} == {"not played"}


def test_pages_are_written_and_a_line_of_the_teacher_comes_onto_them(
    room: Path, handed: Handed, tmp_path: Path
) -> None:
    """The file of notes is begun once, and never written over."""
    handed("Anna.txt", late=7)
    handed("Béla <b>.txt")
    into = tmp_path / "heard"
    told = hear_class(room, into=into, typed=WISH)
    assert told.files[0] == into / "class.html"
    assert read_notes(into) == {"Anna": "", "Béla <b>": ""}
    notes = '"Anna" = "Bar 2 with Clara & me."\n"Zoe" = "?"\n'
    (into / "notes.toml").write_text(notes, encoding="utf-8")
    again = hear_class(room, into=into, typed=WISH)
    assert (into / "notes.toml").read_text(encoding="utf-8") == notes
    assert "'Zoe'" in again.warnings[0]
    for page in (into / "class.html", into / "Anna.html"):
        assert "Bar 2 with Clara &amp; me." in page.read_text(encoding="utf-8")
    whole = (into / "class.html").read_text(encoding="utf-8")
    assert "Béla &lt;b&gt;" in whole
    links = re.findall(r'href="([^"#]+)"', whole)
    assert links
    assert all((into / name.replace("%C3%A9", "é").replace("%20", " ")).exists() for name in links)


def test_notes_that_do_not_read_are_said_and_cost_nobody_their_page(
    room: Path, handed: Handed, tmp_path: Path
) -> None:
    """A quotation mark forgotten."""
    handed("Anna.txt")
    into = tmp_path / "heard"
    into.mkdir()
    (into / "notes.toml").write_text('"Anna" = "Bar 2\n', encoding="utf-8")
    told = hear_class(room, into=into, typed=WISH)
    assert "does not read as TOML" in told.warnings[0]
    assert (into / "Anna.html").exists()


def test_pages_within_the_folder_are_nobodys_recordings(room: Path, handed: Handed) -> None:
    """Heard a second time, under another name, it is the same class."""
    handed("Anna.txt")
    hear_class(room, into=room / "heard", typed=WISH)
    told = hear_class(room, into=room / "again", typed=WISH).document
    assert [row["name"] for row in told["students"]] == ["Anna"]
    assert told["not_heard"] == []


def test_a_bar_is_heard_from_the_recording_itself(room: Path, tmp_path: Path) -> None:
    """The page holds the sound of the bar that is spoken of, and needs nothing beside it."""
    rate = np.random.default_rng(3)
    sound = rate.normal(0, 0.001, 12 * RATE)
    starts = 1.0 + 60 / 72 * np.array([0, 0.25, 0.75, 1, 1.5, 2.5, 2.75, 3, 4, 4.5, 5.5, 6])
    for start in np.delete(starts, 6):
        place = round(start * RATE)
        sound[place : place + 400] += rate.normal(0, 0.5, 400) * np.exp(-np.arange(400) / 90)
    soundfile.write(room / "Anna.wav", sound.clip(-1, 1), RATE)
    job = StudentJob(
        Student("Anna", (room / "Anna.wav",), ("Anna.wav",)),
        CheckWish(str(room / "rag.toml"), bars="1-4", speed=1.0),
        tmp_path / "Anna.html",
    )
    told = hear_student(job, quietly)
    assert told.row is not None
    assert told.row.cells[1].words == "1 not heard"
    page = (tmp_path / "Anna.html").read_text(encoding="utf-8")
    assert "hear bar 2" in page
    assert "data:audio/mpeg;base64," in page
    assert len(page) < 400_000
    assert str(room) not in page
    assert "To type next" not in page


def test_another_piece_is_not_laid_out_bar_by_bar(room: Path) -> None:
    """It is asked about, not marked wrong."""
    times = 1 + 0.31 * np.arange(60) + np.random.default_rng(5).uniform(-0.12, 0.12, 60)
    (room / "Anna.txt").write_text("\n".join(f"{t:.3f}" for t in sorted(times)), encoding="utf-8")
    job = StudentJob(
        Student("Anna", (room / "Anna.txt",), ("Anna.txt",)),
        CheckWish(str(room / "rag.toml"), **WISH),
    )
    row = hear_student(job, quietly).row
    assert row is not None
    assert not row.known
    assert row.at_all == "another piece?"
    assert {cell.words for cell in row.cells} == {""}


def test_the_file_of_the_class_says_what_was_not_typed(room: Path) -> None:
    """What is typed comes first; a drill within the folder is found there."""
    said = 'passage = "rag.toml"\nspeed = 0.5\nrepeats = 2\nas = "wind"\ntiming = "free"\n'
    (room / "class.toml").write_text(said, encoding="utf-8")
    wish = class_wish(room, None, {"speed": 0.7}).check
    assert wish.passage == str(room / "rag.toml")
    assert (wish.speed, wish.repeats, wish.kind, wish.timing) == (0.7, 2, "wind", "free")
    assert class_wish(room, "towpath-rag", {}).check.passage == "towpath-rag"


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ('spede = 0.5\npassage = "rag.toml"', "did you mean 'speed'"),
        ('speed = "slow"\npassage = "rag.toml"', "speed = 'slow' is not a number"),
        ('as = "kazoo"\npassage = "rag.toml"', "one of claps"),
        ("passage = 3", "text in quotes"),
        ('repeats = 1.5\npassage = "rag.toml"', "a whole number"),
        ('aloud = 1\npassage = "rag.toml"', "true or false"),
    ],
)
def test_a_slip_in_the_file_of_the_class_is_named(room: Path, said: str, words: str) -> None:
    """With what is allowed there."""
    (room / "class.toml").write_text(said, encoding="utf-8")
    with pytest.raises(RequestError, match=re.escape(words)):
        class_wish(room, None, {})


def test_which_passage_is_asked_where_it_cannot_be_known(room: Path) -> None:
    """Two drills in the folder, or none."""
    (room / "other.toml").write_text(RAG, encoding="utf-8")
    with pytest.raises(RequestError, match=r"other\.toml, rag\.toml"):
        class_wish(room, None, {})
    (room / "other.toml").unlink()
    (room / "rag.toml").unlink()
    with pytest.raises(RequestError, match="there is none"):
        class_wish(room, None, {})


def test_the_recorded_accompaniment_beside_the_drill_is_no_student(
    room: Path, handed: Handed
) -> None:
    """It lies there for everybody, as does the accompanist's part."""
    handed("Anna.txt")
    for name in ("piano.flac", "piano.mid", "slow.ogg"):
        (room / name).write_bytes(b"the piano")
    beside = '[accompaniment]\nrecording = "piano.flac"\nnotes = "piano.mid"\n'
    model = '[model]\nrecording = "slow.ogg"\n'
    (room / "rag.toml").write_text(RAG + beside + model, encoding="utf-8")
    asked = class_wish(room, None, {})
    assert [each.name for each in students_in(room, beside=asked.beside)] == ["Anna"]


def test_a_folder_that_is_none_or_holds_nobody_is_named(room: Path, tmp_path: Path) -> None:
    """Before any process is started."""
    with pytest.raises(FileError, match="no recording in"):
        hear_class(room)
    with pytest.raises(FileError, match="there is no folder"):
        hear_class(tmp_path / "nowhere", "towpath-rag")
    with pytest.raises(FileError, match="is a file"):
        hear_class(room / "rag.toml", "towpath-rag")


def test_a_class_of_which_nothing_can_be_heard_ends_as_a_failure(room: Path) -> None:
    """But every recording is named."""
    (room / "Anna.wav").write_bytes(b"")
    told = hear_class(room)
    assert told.failure
    assert "is empty" in told.document["not_heard"][0]["why"]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="names of any bytes need such a system")
def test_a_name_in_a_broken_spelling_stops_nobody(
    room: Path, handed: Handed, tmp_path: Path
) -> None:
    """A zip made elsewhere leaves names that are no text."""
    path = handed("Anna.txt")
    try:
        os.rename(path, os.fsencode(room) + b"/Ann\xe9.txt")  # noqa: PTH104  (bytes)
    except OSError:
        pytest.skip("this disk takes only names in UTF-8")
    (student,) = students_in(room)
    page = tmp_path / "page.html"
    wish = CheckWish(str(room / "rag.toml"), **WISH)
    assert hear_student(StudentJob(student, wish, page), quietly).row is not None
    assert page.exists()
    assert student.name == "Ann?"


def test_any_name_can_stand_in_the_file_of_notes(tmp_path: Path) -> None:
    """Quotation marks, backslashes, a line break, another alphabet."""
    names = ['An"na', "Bé\\la", "Car\nla", "Ελένη", "x.y = 1", "\u2028"]
    assert begin_notes(tmp_path, names)
    assert list(read_notes(tmp_path)) == names
    assert not begin_notes(tmp_path, names)


def test_pages_that_one_program_writes_are_left_alone_by_a_second(
    room: Path, tmp_path: Path
) -> None:
    """The command typed twice: one sentence for the second, and every page is of one hearing."""
    (room / "Carla.m4a").write_bytes(b"rubbish")
    into = tmp_path / "heard"
    refused: list[str] = []

    def typed_again(_done: float, _total: float, _what: str) -> None:
        with pytest.raises(FileError, match="another rhythmtrain is writing the pages") as said:
            hear_class(room, into=into, typed=WISH | {"speed": 0.9})
        refused.append(str(said.value))

    told = hear_class(room, into=into, typed=WISH, progress=typed_again)
    assert "or name another folder" in refused[0]
    assert told.files == (into / "class.html",)
    assert {path.name for path in into.iterdir()} == {"class.html", "notes.toml"}
    with first_in(into, FileError("still held")):
        pass
