"""Where the supplied drills and sounds are found, and where the user's own things go."""

from pathlib import Path

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.storage import places


def test_a_wheel_carries_its_folders_inside_the_package(tmp_path: Path) -> None:
    """Installed anywhere, the supplied things are found beside the code."""
    package = tmp_path / "site-packages" / "rhythmtrain"
    (package / "data" / "drills").mkdir(parents=True)
    assert places.supplied_folder("drills", package) == package / "data" / "drills"


def test_a_checkout_has_them_beside_the_package(tmp_path: Path) -> None:
    """Someone who works on the drills hears the ones being worked on."""
    (tmp_path / "pyproject.toml").write_text("", encoding="utf-8")
    (tmp_path / "drills").mkdir()
    (tmp_path / "rhythmtrain").mkdir()
    found = places.supplied_folder("drills", tmp_path / "rhythmtrain")
    assert found == tmp_path / "drills"


def test_the_package_comes_before_the_checkout(tmp_path: Path) -> None:
    """An installed copy inside somebody's project reads its own drills."""
    (tmp_path / "pyproject.toml").write_text("", encoding="utf-8")
    (tmp_path / "drills").mkdir()
    inside = tmp_path / "rhythmtrain" / "data" / "drills"
    inside.mkdir(parents=True)
    assert places.supplied_folder("drills", tmp_path / "rhythmtrain") == inside


def test_another_packages_folder_is_not_taken_for_ours(tmp_path: Path) -> None:
    """A folder called drills among installed packages belongs to someone else."""
    (tmp_path / "drills").mkdir()
    (tmp_path / "rhythmtrain").mkdir()
    with pytest.raises(FileError, match=r"drills .* missing .* install rhythmtrain again"):
        places.supplied_folder("drills", tmp_path / "rhythmtrain")


def test_the_spoken_words_of_this_copy_are_found() -> None:
    """The count can be spoken without telling the program where anything is."""
    assert (places.samples_folder() / "en" / "words.toml").is_file()


def test_drills_and_samples_are_told_apart(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each kind of supplied thing has its own folder."""
    for name in ("drills", "audio_samples"):
        (tmp_path / "data" / name).mkdir(parents=True)
    monkeypatch.setattr(places, "files", lambda _name: tmp_path)
    assert places.drills_folder() == tmp_path / "data" / "drills"
    assert places.samples_folder() == tmp_path / "data" / "audio_samples"


def test_the_users_folder_can_be_moved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A teacher keeps the history of a class on a shared disk."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path))
    assert places.user_folder() == tmp_path


@pytest.mark.parametrize("value", [None, "", "  "])
def test_the_users_folder_is_the_platforms_own_otherwise(
    value: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nothing to set up: history goes where the system keeps such things."""
    if value is None:
        monkeypatch.delenv("RHYTHMTRAIN_HOME", raising=False)
    else:
        monkeypatch.setenv("RHYTHMTRAIN_HOME", value)
    folder = places.user_folder()
    assert folder.is_absolute()
    assert folder.name == "rhythmtrain"
