"""Sound delays are kept by device, rate and driver, and survive what happens to files."""

import json
from pathlib import Path

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.storage.settings import (
    FILE_NAME,
    DelayKey,
    KeptDelay,
    keep_sound_delay,
    kept_sound_delay,
)

KEY = DelayKey("loopback", 48_000, "keys")
KEPT = KeptDelay(0.031, 0.002, "tapped")


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


def test_a_damaged_file_is_set_aside_and_said_so(tmp_path: Path) -> None:
    """Nothing is lost, and the second try works."""
    (tmp_path / FILE_NAME).write_text("{rubbish", encoding="utf-8")
    with pytest.raises(FileError, match=r"was damaged and is now settings-damaged-1\.json"):
        kept_sound_delay(KEY, tmp_path)
    assert (tmp_path / "settings-damaged-1.json").read_text(encoding="utf-8") == "{rubbish"
    keep_sound_delay(KEY, KEPT, tmp_path)
    assert kept_sound_delay(KEY, tmp_path) == KEPT


@pytest.mark.parametrize(
    "text", ["[]", '{"sound_delays": 3}', '{"sound_delays": {"loopback | 48000 | keys": {}}}']
)
def test_settings_of_another_shape_are_no_delay(tmp_path: Path, text: str) -> None:
    """Edited by hand."""
    (tmp_path / FILE_NAME).write_text(text, encoding="utf-8")
    assert kept_sound_delay(KEY, tmp_path) is None
    keep_sound_delay(KEY, KEPT, tmp_path)
    assert kept_sound_delay(KEY, tmp_path) == KEPT
