"""Folders that travel: names that every system keeps, and files that come whole or not at all."""

import os
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.errors import FileError
from rhythmtrain.storage.folders import (
    brought_in,
    distinct,
    files_there,
    made_folder,
    out_of_sight,
    safe_name,
)

# What Windows refuses in a name (Microsoft, "Naming Files, Paths, and Namespaces").
REFUSED = set('<>:"/\\|?*') | set(map(chr, range(32)))
DEVICES = {"con", "prn", "aux", "nul"} | {
    f"{port}{n}" for port in ("com", "lpt") for n in range(10)
}


@given(st.text())
def test_any_name_is_made_one_that_windows_takes(text: str) -> None:
    """A teacher packs on one system, and a student opens the pack on another."""
    name = safe_name(text)
    assert name
    assert not REFUSED & set(name)
    assert not name.endswith((".", " "))
    assert not name.startswith((".", " "))
    assert name.partition(".")[0].strip().casefold() not in DEVICES
    assert len(name.encode("utf-8")) < 255


@given(st.text())
def test_a_safe_name_stays_as_it_is(text: str) -> None:
    """Packing again must find the same folder."""
    assert safe_name(safe_name(text)) == safe_name(text)


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("29-towpath-rag", "29-towpath-rag"),
        ("Übung 3", "Übung 3"),
        ("slow: 1/2?", "slow- 1-2-"),
        ("aux", "the aux"),
        ("LPT1.old", "the LPT1.old"),
        ("auxiliary", "auxiliary"),
        ("...", "passage"),
        ("a" * 200, "a" * 60),
        ("un\udcffreadable", "un-readable"),
    ],
)
def test_plain_names_are_kept_and_others_changed_little(text: str, name: str) -> None:
    """A student looks for the name that the teacher spoke of."""
    assert safe_name(text) == name


@given(st.lists(st.sampled_from(["rag", "RAG", "rag-2", "waltz", "index.html"])))
def test_no_two_folders_have_one_name_in_any_capitals(names: list[str]) -> None:
    """On Windows and macOS "Rag" and "rag" are one folder, and one would hide the other."""
    found = list(distinct(names, taken=("index.html",)))
    assert len({name.casefold() for name in [*found, "index.html"]}) == len(names) + 1


def test_the_second_of_two_names_is_numbered() -> None:
    """A number tells which of two drills it is, in the order they were asked for."""
    assert list(distinct(["rag", "rag", "rag"])) == ["rag", "rag-2", "rag-3"]


def test_a_missing_folder_is_made_with_those_above_it(tmp_path: Path) -> None:
    """Nobody wants to make folders by hand first."""
    made = made_folder(tmp_path / "spring" / "class")
    assert made.is_dir()
    assert not list(made.iterdir())


def test_a_file_in_the_way_is_said_plainly(tmp_path: Path) -> None:
    """The mistake of naming a file must not cost the file."""
    (tmp_path / "mine.txt").write_text("kept")
    with pytest.raises(FileError, match=r"mine\.txt is a file.name-a-folder"):
        made_folder(tmp_path / "mine.txt")
    with pytest.raises(FileError, match="nothing can be written into the folder"):
        made_folder(tmp_path / "mine.txt" / "below")
    assert (tmp_path / "mine.txt").read_text() == "kept"


def test_a_name_that_no_system_takes_is_said_plainly() -> None:
    """A stray sign on the command line gets a sentence, not a traceback."""
    with pytest.raises(FileError, match="nothing can be written into the folder"):
        made_folder(Path("odd\0name"))


def test_files_come_in_over_older_ones_and_others_stay(tmp_path: Path) -> None:
    """A teacher's own notes in the folder survive a second packing."""
    (tmp_path / "rag").mkdir()
    (tmp_path / "rag" / "01.mp3").write_text("old")
    (tmp_path / "rag" / "notes.txt").write_text("mine")
    with out_of_sight(tmp_path) as hidden:
        (hidden / "01.mp3").write_text("new")
        (hidden / "02.mp3").write_text("new")
        files = brought_in(hidden, tmp_path / "rag")
    assert [file.name for file in files] == ["01.mp3", "02.mp3"]
    assert all(file.read_text() == "new" for file in files)
    assert (tmp_path / "rag" / "notes.txt").read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["rag"]


def test_a_file_in_the_place_of_the_folder_is_kept(tmp_path: Path) -> None:
    """What is not ours is never written over."""
    (tmp_path / "rag").write_text("mine")
    with out_of_sight(tmp_path) as hidden, pytest.raises(FileError, match="cannot write"):
        brought_in(hidden, tmp_path / "rag")
    assert (tmp_path / "rag").read_text() == "mine"


def test_files_are_listed_newest_first_without_those_that_are_not_there_whole(
    tmp_path: Path,
) -> None:
    """One page takes a passage away, or is only writing it, while another lists them."""
    for at, name in enumerate(("old.toml", "new.toml", ".half-written.toml", "same.toml")):
        (tmp_path / name).write_text("")
        os.utime(tmp_path / name, (1_000 + min(at, 1), 1_000 + min(at, 1)))
    (tmp_path / "folder.toml").mkdir()
    # It has a name, and nothing is there: as one that goes between its name and its date.
    (tmp_path / "gone.toml").symlink_to(tmp_path / "nowhere")
    listed = [path.name for path in files_there(tmp_path)]
    assert listed == ["new.toml", "same.toml", "old.toml"]
