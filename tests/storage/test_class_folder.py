"""Who is in a teacher's folder, and the small files in it that are the teacher's own."""

from pathlib import Path

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.storage import class_folder
from rhythmtrain.storage.class_folder import (
    CLASS_FILE,
    LARGEST_NOTES,
    NOTES_FILE,
    begin_notes,
    passages_in,
    read_class,
    read_notes,
    students_in,
)


def laid(folder: Path, *names: str) -> None:
    """Lay empty files into the folder."""
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch()


def test_students_are_folders_and_files_by_name(tmp_path: Path) -> None:
    """An é stands beside the e; what is hidden or no recording is passed over."""
    laid(
        tmp_path, "Zoe/b.m4a", "Zoe/a.mov", "Zoe/week 2/c.wav", "Zoe/letter.pdf", "Élan.mp3",
        "emil.mid", "Fay.txt", ".hidden.wav", "Eve/.DS_Store", "rag.toml", "photo.jpg",
    )  # fmt: skip
    found = {
        student.name: [path.name for path in student.files] for student in students_in(tmp_path)
    }
    assert list(found) == ["Élan", "emil", "Eve", "Fay", "Zoe"]
    assert found["Zoe"] == ["a.mov", "b.m4a", "c.wav"]
    assert found["Eve"] == []


def test_a_folder_and_a_file_of_one_name_are_one_student(tmp_path: Path) -> None:
    """She sent one more."""
    laid(tmp_path, "Zoe/a.wav", "Zoe.m4a")
    (zoe,) = students_in(tmp_path)
    assert len(zoe.files) == 2


def test_folders_within_folders_are_searched_only_so_deep(tmp_path: Path) -> None:
    """A whole disk laid into a student's folder is not read through, nor a link in a ring."""
    laid(tmp_path, "Zoe/1/2/3/4/deep.wav", "Zoe/1/2/3/4/5/deeper.wav")
    (tmp_path / "Zoe" / "ring").symlink_to(tmp_path)
    (zoe,) = students_in(tmp_path)
    assert [path.name for path in zoe.files] == ["deep.wav"]


def test_a_folder_of_thousands_of_files_is_asked_about(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is not a class."""
    monkeypatch.setattr(class_folder, "MOST_FILES", 3)
    laid(tmp_path, *(f"{number}.wav" for number in range(4)))
    with pytest.raises(FileError, match="is it the right one"):
        students_in(tmp_path)


def test_passages_are_drills_and_scores_but_not_the_teachers_own_files(tmp_path: Path) -> None:
    """A MIDI file may be a take, so it is no passage."""
    laid(tmp_path, "rag.toml", "piece.mxl", "take.mid", CLASS_FILE, NOTES_FILE)
    assert [path.name for path in passages_in(tmp_path)] == ["piece.mxl", "rag.toml"]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"speed = ", "does not read as TOML"),
        (b'speed = "\xff"', "UTF-8"),
        (b"#" * (LARGEST_NOTES + 1), "larger than 1 MB"),
    ],
)
def test_a_file_of_the_class_that_does_not_read_is_named(
    tmp_path: Path, text: bytes, words: str
) -> None:
    """With what is wrong with it."""
    (tmp_path / CLASS_FILE).write_bytes(text)
    with pytest.raises(FileError, match=words):
        read_class(tmp_path)


def test_a_folder_in_the_place_of_the_file_is_named(tmp_path: Path) -> None:
    """No traceback."""
    (tmp_path / NOTES_FILE).mkdir()
    with pytest.raises(FileError, match="cannot be read"):
        read_notes(tmp_path)


def test_notes_of_another_kind_than_text_are_passed_over(tmp_path: Path) -> None:
    """Only lines are shown."""
    (tmp_path / NOTES_FILE).write_text(
        '"A" = " see me "\n"B" = 3\n[c]\nd = "e"\n', encoding="utf-8"
    )
    assert read_notes(tmp_path) == {"A": "see me"}


def test_notes_that_are_there_are_never_written_over(tmp_path: Path) -> None:
    """Not even where they are a broken link."""
    (tmp_path / NOTES_FILE).symlink_to(tmp_path / "nowhere.toml")
    assert not begin_notes(tmp_path, ["Anna"])
    assert not (tmp_path / "nowhere.toml").exists()
