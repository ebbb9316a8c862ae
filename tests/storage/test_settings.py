"""Sound delays are kept by device, rate and driver, and survive what happens to files."""

import json
import resource
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.storage.alone import held
from rhythmtrain.storage.settings import (
    DelayKey,
    KeptDelay,
    Preferences,
    keep_preferences,
    keep_sound_delay,
    kept_sound_delay,
    preferences,
)
from rhythmtrain.storage.settings_file import FILE_NAME, change_settings

KEY = DelayKey("loopback", 48_000, "keys")
KEPT = KeptDelay(0.031, 0.002, "tapped", "2026-03-01T19:30+01:00")


def test_a_delay_is_kept_for_its_device_rate_and_driver_alone(tmp_path: Path) -> None:
    """Another rate or another way in has another delay."""
    folder = tmp_path / "new" / "folder"
    keep_sound_delay(KEY, KEPT, folder)
    assert kept_sound_delay(KEY, folder) == KEPT
    for other in (
        DelayKey("headphones", 48_000, "keys"),
        DelayKey("loopback", 44_100, "keys"),
        DelayKey("loopback", 48_000, "midi"),
    ):
        assert kept_sound_delay(other, folder) is None


def test_the_newest_measurement_counts_and_the_others_stay(tmp_path: Path) -> None:
    """Measuring again replaces only its own."""
    other = DelayKey("headphones", 48_000, "keys")
    keep_sound_delay(other, KEPT, tmp_path)
    keep_sound_delay(KEY, KEPT, tmp_path)
    newer = KeptDelay(0.040, 0.001, "heard")
    keep_sound_delay(KEY, newer, tmp_path)
    assert kept_sound_delay(KEY, tmp_path) == newer
    assert kept_sound_delay(other, tmp_path) == KEPT


def test_what_another_version_wrote_stays(tmp_path: Path) -> None:
    """A newer program's settings are not lost to an older one."""
    (tmp_path / FILE_NAME).write_text('{"language": "de"}', encoding="utf-8")
    keep_sound_delay(KEY, KEPT, tmp_path)
    assert json.loads((tmp_path / FILE_NAME).read_text(encoding="utf-8"))["language"] == "de"


def test_what_is_set_once_holds_and_leaves_the_delays_alone(tmp_path: Path) -> None:
    """Crotchets stay crotchets; nobody measures again because of it."""
    assert preferences(tmp_path) == Preferences("en", british=False)
    keep_sound_delay(KEY, KEPT, tmp_path)
    keep_preferences(Preferences("de", british=True), tmp_path)
    assert preferences(tmp_path) == Preferences("de", british=True)
    assert kept_sound_delay(KEY, tmp_path) == KEPT


@pytest.mark.parametrize("text", ['{"language": 7}', '{"language": "", "british_note_names": "x"}'])
def test_a_preference_of_another_kind_is_the_usual_one(tmp_path: Path, text: str) -> None:
    """Edited by hand."""
    (tmp_path / FILE_NAME).write_text(text, encoding="utf-8")
    assert preferences(tmp_path) == Preferences()


@pytest.mark.parametrize(
    "text", ["{rubbish", "[]", '{"a": NaN}', '{"a": 1e999}', "[" * 100_000, ""]
)
def test_a_damaged_file_is_set_aside_and_said_so(tmp_path: Path, text: str) -> None:
    """Nothing is lost, and the second try works."""
    (tmp_path / FILE_NAME).write_text(text, encoding="utf-8")
    with pytest.raises(FileError, match=r"was damaged and is now settings-damaged-1\.json"):
        kept_sound_delay(KEY, tmp_path)
    assert (tmp_path / "settings-damaged-1.json").read_text(encoding="utf-8") == text
    keep_sound_delay(KEY, KEPT, tmp_path)
    assert kept_sound_delay(KEY, tmp_path) == KEPT


def test_a_second_damaged_file_does_not_replace_the_first(tmp_path: Path) -> None:
    """Each has a name of its own."""
    for text in ("{first", "{second"):
        (tmp_path / FILE_NAME).write_text(text, encoding="utf-8")
        with pytest.raises(FileError, match="was damaged"):
            preferences(tmp_path)
    kept = [(tmp_path / f"settings-damaged-{n}.json").read_text(encoding="utf-8") for n in (1, 2)]
    assert kept == ["{first", "{second"]


@pytest.mark.parametrize(("delay_s", "error_s"), [(float("nan"), 0.1), (0.1, -1.0)])
def test_what_is_no_delay_is_refused(delay_s: float, error_s: float) -> None:
    """A wild value would be taken off every clap."""
    with pytest.raises(RequestError, match="a sound delay is a number of seconds"):
        KeptDelay(delay_s, error_s, "tapped")


def test_a_full_disk_leaves_the_older_settings(tmp_path: Path) -> None:
    """Half a file would lose every delay."""
    keep_sound_delay(KEY, KEPT, tmp_path)
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (50, before[1]))
    try:
        with pytest.raises(FileError, match="cannot write"):
            keep_sound_delay(DelayKey("headphones", 48_000, "keys"), KEPT, tmp_path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert kept_sound_delay(KEY, tmp_path) == KEPT
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]


@pytest.mark.parametrize(
    "entry",
    [
        "3",
        "{}",
        '{"delay_s": "x", "error_s": 0, "how": ""}',
        '{"delay_s": 1, "error_s": -1, "how": ""}',
        '{"delay_s": 1, "error_s": 1' + "0" * 400 + ', "how": ""}',
    ],
)
def test_settings_of_another_shape_are_no_delay(tmp_path: Path, entry: str) -> None:
    """Edited by hand."""
    text = f'{{"sound_delays": {{"{KEY.words}": {entry}}}}}'
    (tmp_path / FILE_NAME).write_text(text, encoding="utf-8")
    assert kept_sound_delay(KEY, tmp_path) is None
    keep_sound_delay(KEY, KEPT, tmp_path)
    assert kept_sound_delay(KEY, tmp_path) == KEPT


def test_delays_of_another_shape_are_none(tmp_path: Path) -> None:
    """Edited by hand, too."""
    (tmp_path / FILE_NAME).write_text('{"sound_delays": 3}', encoding="utf-8")
    assert kept_sound_delay(KEY, tmp_path) is None
    keep_sound_delay(KEY, KEPT, tmp_path)
    assert kept_sound_delay(KEY, tmp_path) == KEPT


def test_two_programs_that_set_something_at_once_both_have_it_set(tmp_path: Path) -> None:
    """The sound delay is measured in a terminal while the language is chosen at the page."""
    keep_preferences(Preferences("en"), tmp_path)

    def add(settings: dict[str, Any]) -> dict[str, Any]:
        """Add one, read as late and written as early as another program can do it."""
        hold = held(tmp_path)
        assert hold is None, "another program could change the file just now"
        return {"times": settings.get("times", 0) + 1}

    with ThreadPoolExecutor(4) as programs:
        list(programs.map(lambda _: change_settings(add, tmp_path), range(40)))
    settings = json.loads((tmp_path / FILE_NAME).read_text(encoding="utf-8"))
    assert settings["times"] == 40
    assert settings["language"] == "en"


def test_a_damaged_file_that_several_read_at_once_is_set_aside_once(tmp_path: Path) -> None:
    """The page asks for settings again and again; only who found the damage is told of it."""
    gate = Barrier(4)

    def read(folder: Path) -> str:
        gate.wait()
        try:
            return preferences(folder).language
        except FileError as error:
            return str(error)

    for number in range(10):
        folder = tmp_path / str(number)
        folder.mkdir()
        (folder / FILE_NAME).write_text("{rubbish", encoding="utf-8")
        with ThreadPoolExecutor(4) as readers:
            told = sorted(readers.map(read, [folder] * 4))
        assert "was damaged and is now settings-damaged-1.json" in told[0]
        assert told[1:] == ["en"] * 3
        assert [path.name for path in folder.iterdir()] == ["settings-damaged-1.json"]


def test_who_sets_one_thing_undoes_nothing_that_was_set_meanwhile(tmp_path: Path) -> None:
    """Two pages of two programs: one had looked before the other set the names of notes."""
    before = preferences(tmp_path)
    keep_preferences(Preferences(british=True), tmp_path)
    keep_preferences(Preferences("de", own_voice=False), tmp_path, before=before)
    assert preferences(tmp_path) == Preferences("de", british=True, own_voice=False)
